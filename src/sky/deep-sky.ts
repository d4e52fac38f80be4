/**
 * Messier's list and showpieces outside it, by number, catalogue designation or common name.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { type DeepSkyRow, messierRows, showpieceRows } from "./deep-sky-data.js";
import { tryFindStar, unknownStarFault } from "./find-star.js";
import { type NamedKey, nameKey, nearestNames } from "./name-key.js";
import type { IcrsPosition, Star } from "./star.js";

/** A nebula, cluster or galaxy. */
export interface DeepSkyObject extends IcrsPosition {
  /** Number in Messier's list, or null for a showpiece outside it. */
  readonly messier: number | null;
  /** New General Catalogue or other designation, for instance `NGC 224`, or an empty string. */
  readonly designation: string;
  /** Other names and designations, for instance `47 Tuc`. */
  readonly otherNames: readonly string[];
  /** Common name, or an empty string. */
  readonly commonName: string;
  /** What it is, for instance `galaxy`. */
  readonly kind: string;
  /** Visual magnitude of the whole object. */
  readonly vMag: number;
  /** Longer diameter, arcminutes, or null where none is given. */
  readonly longArcmin: number | null;
  /** Shorter diameter, arcminutes; the same as the longer one where it is round. */
  readonly shortArcmin: number | null;
  /** How it is shown, for instance `M 31 (Andromeda Galaxy)` or `NGC 104 (47 Tucanae)`. */
  readonly label: string;
}

interface ObjectIndex {
  readonly objects: readonly DeepSkyObject[];
  readonly byKey: ReadonlyMap<string, DeepSkyObject>;
  readonly proposals: readonly NamedKey<DeepSkyObject>[];
}

let cached: ObjectIndex | undefined;

function objectIndex(): ObjectIndex {
  cached ??= makeObjectIndex();
  return cached;
}

function makeObjectIndex(): ObjectIndex {
  const byKey = new Map<string, DeepSkyObject>();
  const proposals: NamedKey<DeepSkyObject>[] = [];
  const twofold = new Set<string>();
  const objects = [...messierRows, ...showpieceRows].map(objectOf);
  for (const object of objects) {
    const keys = [object.designation, ...object.otherNames].flatMap(designationKeys);
    if (object.messier !== null) keys.push(`m${object.messier}`, `messier${object.messier}`);
    if (object.commonName !== "") {
      const names = [commonNameKey(object.commonName), nameKey(object.commonName)];
      proposals.push(...names.map((key) => ({ key, value: object })));
      keys.push(...names, ...object.otherNames.map(commonNameKey));
    }
    for (const key of keys) {
      const other = byKey.get(key);
      // What could mean two objects (Cat's Eye, a galaxy and a nebula) means neither.
      if (other !== undefined && other !== object) twofold.add(key);
      byKey.set(key, object);
    }
  }
  for (const key of twofold) byKey.delete(key);
  return { objects, byKey, proposals };
}

function objectOf(row: DeepSkyRow): DeepSkyObject {
  const [messier, designation, otherNames, commonName, kind, vMag, longArcmin, shortArcmin, raDeg, decDeg] =
    row;
  const shortest = messier === null ? designation : `M ${messier}`;
  return {
    messier,
    designation,
    otherNames: otherNames === "" ? [] : otherNames.split(";"),
    commonName,
    kind,
    vMag,
    longArcmin,
    shortArcmin: shortArcmin ?? longArcmin,
    raDeg,
    decDeg,
    label: commonName === "" ? shortest : `${shortest} (${commonName})`,
  };
}

/** `NGC 5194/5` stands for 5194 and 5195. */
function designationKeys(designation: string): string[] {
  const [first = "", second] = designation.split("/");
  if (first === "") return [];
  const key = nameKey(first);
  return second === undefined ? [key] : [key, key.slice(0, key.length - second.length) + second];
}

/** `the Andromeda Galaxy`, `Andromeda` and `Andromeda galaxy` are one. */
function commonNameKey(text: string): string {
  const key = nameKey(text.replace(/^\s*the\s+/i, ""));
  const bare = key.replace(/(galaxy|nebula|cluster)$/, "");
  return bare === "" ? key : bare;
}

/**
 * The 110 objects of Messier's list, in order, then the showpieces outside it. Positions ICRS J2000.0, good to about 1′ (of
 * extended objects, to a tenth of their size).
 */
export function deepSkyObjects(): readonly DeepSkyObject[] {
  return objectIndex().objects;
}

/** The object of that name, or undefined. Takes what {@link findDeepSky} takes. */
export function tryFindDeepSky(text: string): DeepSkyObject | undefined {
  const { byKey } = objectIndex();
  const key = nameKey(text)
    .replace(/^melotte(?=\d)/, "mel")
    .replace(/^collinder(?=\d)/, "cr")
    .replace(/^(m|messier|ngc|ic|mel|cr)0+(?=\d)/, "$1");
  return byKey.get(key) ?? byKey.get(commonNameKey(text));
}

function unknownObjectFault(text: string): Fault {
  const near = nearestNames(nameKey(text.replace(/^\s*the\s+/i, "")), objectIndex().proposals, 3).map(
    (object) => object.label,
  );
  const meant = near.length === 0 ? "" : ` Did you mean ${near.join(" or ")}?`;
  return {
    code: "unknown-object",
    found: shown(text),
    allowed:
      "a number of Messier's list (M 31), the New General Catalogue's number of one of the list's objects (NGC 224) or a " +
      "common name (Andromeda Galaxy, 47 Tucanae); for another object give its raDeg and decDeg",
    message: `No nebula, cluster or galaxy of that name in the list.${meant}`,
  };
}

/**
 * The object of that name: number in Messier's list (`M 31`, `m31`, `Messier 31`), catalogue designation
 * (`NGC 224`, `47 Tuc`) or common name (`Andromeda Galaxy`, `Pleiades`). Case, accents, spaces, underscores and hyphens do
 * not matter.
 *
 * @throws {@link InputError} with the one fault `unknown-object`
 * @example
 * ```ts
 * findDeepSky("ngc 224").label; // "M 31 (Andromeda Galaxy)"
 * ```
 */
export function findDeepSky(text: string): DeepSkyObject {
  const object = tryFindDeepSky(text);
  if (object === undefined) throw new InputError(unknownObjectFault(text));
  return object;
}

/**
 * The star or the deep-sky object of that name: what {@link findStar} and {@link findDeepSky} take.
 *
 * @throws {@link InputError} with the one fault `unknown-object`, which names what was probably meant
 * @example
 * ```ts
 * findTarget("M 42").label; // "M 42 (Orion Nebula)"
 * findTarget("Achernar").label; // "Achernar"
 * ```
 */
export function findTarget(text: string): Star | DeepSkyObject {
  const target = tryFindStar(text) ?? tryFindDeepSky(text);
  if (target !== undefined) return target;
  const star = unknownStarFault(text);
  const object = unknownObjectFault(text);
  const asked = (fault: Fault) => / Did you mean .*$/.exec(fault.message)?.[0] ?? "";
  throw new InputError({
    code: "unknown-object",
    found: shown(text),
    allowed: `${star.allowed.split(";")[0]}; ${object.allowed}`,
    message: `No star and no nebula, cluster or galaxy of that name.${asked(star) || asked(object)}`,
  });
}
