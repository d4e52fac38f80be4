import { readFileSync } from "node:fs";

/** The pages that are built for browsers. */
export type PageName = "desk" | "wrong-telescope";

/**
 * The template of a page as the build made it: one HTML file with its style and script in it.
 *
 * The build is found from the package's own folder, so that the same code finds it from src/, dist/ and dist/cli/.
 */
export function pageTemplate(name: PageName): string {
  return readFileSync(new URL(`../../dist/page/${name}.html`, import.meta.url), "utf8");
}
