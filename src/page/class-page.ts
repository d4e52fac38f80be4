/** Pages to print for a class: the poster of all patterns, and sheets for the hands. */
import { InputError, shown } from "../errors.js";
import { driftRulerSheet } from "./class/drift-ruler.js";
import { plumbLineSheet } from "./class/plumb-line.js";
import { poster } from "./class/poster.js";
import { splitRingSheet } from "./class/split-ring.js";
import type { WholePage } from "./page-text.js";

const pages = {
  poster,
  "plumb-line": plumbLineSheet,
  "split-ring": splitRingSheet,
  "drift-ruler": driftRulerSheet,
} as const satisfies Readonly<Record<ClassPageName, (latitudeDeg: number) => WholePage>>;

/** A page to print for a class. */
export type ClassPageName = "poster" | "plumb-line" | "split-ring" | "drift-ruler";
export const classPageNames = Object.keys(pages) as readonly ClassPageName[];

/** Nearer to the equator or a pole the mount of the sheets cannot be built. */
const [LOWEST_LATITUDE, HIGHEST_LATITUDE] = [5, 85];

/**
 * A page to print for a class; `show` shows it.
 *
 * @param name - `poster`, `plumb-line`, `split-ring`, `drift-ruler`
 * @param latitudeDeg - the class's own latitude, degrees, north positive
 * @throws {@link InputError} `unknown-class-page`, `latitude-out-of-range`
 * @example
 * ```ts
 * classPage("poster", 48).title // "How a wrong telescope misses the stars"
 * ```
 */
export function classPage(name: string, latitudeDeg: number): WholePage {
  if (!(classPageNames as readonly string[]).includes(name)) {
    throw new InputError({
      code: "unknown-class-page",
      found: shown(name),
      allowed: classPageNames.join(", "),
      message: "There is no such page for a class.",
    });
  }
  const size = Math.abs(latitudeDeg);
  if (!(size >= LOWEST_LATITUDE && size <= HIGHEST_LATITUDE)) {
    throw new InputError({
      code: "latitude-out-of-range",
      found: shown(latitudeDeg),
      allowed: `degrees from ${LOWEST_LATITUDE} to ${HIGHEST_LATITUDE}, south negative`,
      message: "The sheets cannot be made for there.",
    });
  }
  return pages[name as ClassPageName](latitudeDeg);
}
