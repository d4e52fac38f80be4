import { readFileSync } from "node:fs";
import type { PagePart } from "../page/page-text.js";

/**
 * What the build made for pages: templates, each one HTML file with its style and script in it, and scripts.
 *
 * The build is found from the package's own folder, so that the same code finds it from src/, dist/ and dist/cli/.
 */
export function pagePart(name: PagePart): string {
  return readFileSync(new URL(`../../dist/page/${name}`, import.meta.url), "utf8");
}
