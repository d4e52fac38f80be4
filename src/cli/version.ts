import { createRequire } from "node:module";

/** The package's version, from its own package.json. */
export function packageVersion(): string {
  return (createRequire(import.meta.url)("../../package.json") as { version: string }).version;
}
