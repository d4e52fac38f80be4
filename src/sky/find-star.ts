/**
 * A star by any of its names.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { catalogueStars } from "./catalogue.js";
import { constellations } from "./constellations.js";
import { greekLetters } from "./greek-letters.js";
import { type NamedKey, nameKey, nearestNames } from "./name-key.js";
import type { Star } from "./star.js";

/** Keys of names, and which of them are worth proposing: written out, not abbreviated. */
interface NameIndex {
  readonly byKey: ReadonlyMap<string, Star>;
  readonly proposals: readonly NamedKey<Star>[];
}

/** Something made when it is first asked for, and kept. */
function once<T>(make: () => T): () => T {
  let made: T | undefined;
  return () => {
    made ??= make();
    return made;
  };
}

// Brightest first: where a designation without its number fits several stars, it means the brightest.
const brightestFirst = once(() => [...catalogueStars()].sort((a, b) => a.vMag - b.vMag));

const byHip = once(() => new Map(catalogueStars().map((star) => [star.hip, star])));

function makeIndex(fill: (enter: (key: string, star: Star, propose: boolean) => void) => void): NameIndex {
  const byKey = new Map<string, Star>();
  const proposals: NamedKey<Star>[] = [];
  fill((key, star, propose) => {
    if (byKey.has(key)) return;
    byKey.set(key, star);
    if (propose) proposals.push({ key, value: star });
  });
  return { byKey, proposals };
}

const names = once(() =>
  makeIndex((enter) => {
    for (const star of brightestFirst()) if (star.name !== "") enter(nameKey(star.name), star, true);
  }),
);

// Kept apart from the names: there are thousands of spellings, and most nights hold none of them.
const designations = once(() =>
  makeIndex((enter) => {
    const endings = new Map(
      constellations.map(([abbreviation, name, genitive]) => [
        abbreviation,
        [...new Set([nameKey(genitive), nameKey(abbreviation), nameKey(name)])],
      ]),
    );
    const spellings = new Map(greekLetters.map((letter) => [letter[0], letter.map(nameKey)]));
    for (const withNumber of [true, false]) {
      for (const star of brightestFirst()) {
        const [first = ""] = star.bayer.split(" ");
        const number = withNumber ? first.slice(1) : "";
        spellings.get(first.slice(0, 1))?.forEach((spelling, way) => {
          endings.get(star.constellation)?.forEach((ending, place) => {
            enter(spelling + number + ending, star, way === 1 && place < 2);
          });
        });
      }
    }
    for (const star of brightestFirst()) {
      const [number] = star.flamsteed.split(" ");
      if (star.flamsteed === "") continue;
      endings.get(star.constellation)?.forEach((ending, place) => {
        enter(number + ending, star, place === 1);
      });
    }
  }),
);

/** A Bayer designation with a Latin letter, whose case matters: `p Car` and `P Car` are two stars. */
function findByLatinLetter(text: string): Star | undefined {
  const parts = /^\s*([A-Za-z])[\s_-]+(\S.*)$/.exec(text);
  if (parts === null) return undefined;
  const [, letter = "", ending = ""] = parts;
  const key = nameKey(ending);
  const constellation = constellations.find((names) => names.some((name) => nameKey(name) === key));
  return catalogueStars().find((star) => star.bayer === `${letter} ${constellation?.[0]}`);
}

/**
 * The star of that name, or undefined where the catalogue has none.
 * Takes what {@link findStar} takes.
 */
export function tryFindStar(text: string): Star | undefined {
  const hip = /^\s*(?:hip(?:parcos)?)?[\s_-]*0*([1-9]\d{0,5})\s*$/i.exec(text);
  if (hip !== null) return byHip().get(Number(hip[1]));
  const key = nameKey(text);
  return names().byKey.get(key) ?? designations().byKey.get(key) ?? findByLatinLetter(text);
}

/**
 * What was probably meant by a name that the catalogue has not, nearest first.
 *
 * @param count - the most that are given
 * @example
 * ```ts
 * suggestStars("Betelguese", 1)[0]?.label; // "Betelgeuse"
 * ```
 */
export function suggestStars(text: string, count = 3): Star[] {
  const key = nameKey(text);
  const greek = greekLetters.find(([letter]) => key.startsWith(letter));
  const spelt = greek === undefined ? key : greek[1] + key.slice(1);
  return nearestNames(spelt, [...names().proposals, ...designations().proposals], count);
}

/**
 * What is wrong with a name that the catalogue has not: code `unknown-star`, with the nearest names.
 */
export function unknownStarFault(text: string): Fault {
  const near = suggestStars(text, 3).map((star) => {
    const designation = star.bayer || star.flamsteed;
    return star.name !== "" && designation !== "" ? `${star.name} (${designation})` : star.label;
  });
  const meant = near.length === 0 ? "" : ` Did you mean ${joinOr(near)}?`;
  const wanders = WANDERERS.test(text.trim())
    ? " This one moves among the stars: sight stars, and find it afterwards."
    : "";
  const garbled = text.includes("\uFFFD") ? " Some letters are no UTF-8: save the file as UTF-8." : "";
  return {
    code: "unknown-star",
    found: shown(text),
    allowed:
      "an IAU star name (Achernar), a Bayer designation (α Cen, alpha Cen), a Flamsteed designation (16 Boo) or a " +
      "Hipparcos number (HIP 71683) of one of the catalogue's 436 stars; for another star give its raDeg and decDeg",
    message: `No star of that name in the catalogue.${wanders}${garbled}${wanders === "" ? meant : ""}`,
  };
}

const WANDERERS = /^(the )?(sun|moon|mercury|venus|mars|jupiter|saturn|uranus|neptune|pluto)$/i;

function joinOr(words: readonly string[]): string {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} or ${words.at(-1)}`;
}

/**
 * The star of that name: IAU name (`Rigil Kentaurus`), Bayer designation (`α Cen`, `alpha Cen`, `alf Cen`,
 * `Alpha Centauri`, `alpha1 Cen`), Flamsteed designation (`16 Boo`) or Hipparcos number (`HIP 71683`, `71683`).
 * Case, accents, spaces, underscores and hyphens do not matter. A designation without its component's number
 * (`alpha Cen`) means the brightest of them.
 *
 * @throws {@link InputError} with the one fault `unknown-star`, which names the nearest stars
 * @example
 * ```ts
 * findStar("alpha centauri").label; // "Rigil Kentaurus"
 * ```
 */
export function findStar(text: string): Star {
  const star = tryFindStar(text);
  if (star === undefined) throw new InputError(unknownStarFault(text));
  return star;
}
