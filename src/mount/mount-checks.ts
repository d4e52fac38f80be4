/**
 * What the mount file's keys owe each other. These checks look at the raw file, each at what it needs, so that a fault
 * elsewhere never hides theirs.
 */
import { type Fault, InputError, shown } from "../errors.js";
import { isNumber, isObject, type Raw, unlikelyFigures } from "./base-figures.js";
import { compileCustomTerm } from "./custom-term.js";
import type { AxisReadings } from "./mount.js";
import { dialTurn } from "./readings.js";

/** Three jacks count as standing in one line when their triangle's height is below this part of its longest side. */
const LINE_PART = 0.02;

/** As many jacks as the grammar allows. */
const MOST_JACKS = 24;

const member = (value: unknown, key: string): unknown =>
  isObject(value) && Object.hasOwn(value, key) ? value[key] : undefined;
const listAt = (value: unknown, key: string): readonly unknown[] => {
  const found = member(value, key);
  return Array.isArray(found) ? found : [];
};

/**
 * Checks what depends on several keys at once.
 *
 * @param json - the parsed mount file, valid or not
 * @returns the faults found
 */
export function faultsBetweenKeys(json: unknown): Fault[] {
  const base = member(json, "base");
  return [
    ...axisFaults(json, "hourAngle"),
    ...axisFaults(json, "declination"),
    ...limitFaults(member(json, "limits")),
    ...(isObject(base) ? [...jackFaults(base), ...jackPlaceFaults(base), ...unlikelyFigures(base)] : []),
    ...customTermFaults(json),
  ];
}

function axisFaults(json: unknown, which: "hourAngle" | "declination"): Fault[] {
  const axis = member(member(json, "readings"), which);
  const path = `readings.${which}`;
  const as = member(axis, "as");
  const perTurn = member(axis, "perTurn");
  const faults: Fault[] = [];
  if (as === "counts" && perTurn === undefined) {
    faults.push({
      code: "missing-value",
      path: `${path}.perTurn`,
      allowed: "the counts in a full turn of the axis, at least 4",
      message: "Counts need their number in a full turn.",
    });
  }
  const isKind = which === "hourAngle" || as !== "rightAscension";
  if (typeof as === "string" && Object.hasOwn(dialTurn, as) && isKind) {
    const turn = dialTurn[as as Exclude<AxisReadings["as"], "counts">];
    if (perTurn !== undefined && perTurn !== turn) {
      faults.push({
        code: "wrong-turn",
        path: `${path}.perTurn`,
        found: shown(perTurn),
        allowed: `${turn}, or leave the key out`,
        message: `A full turn of an axis read as ${as} is ${turn}.`,
      });
    }
    if (member(axis, "smallest") === undefined) {
      faults.push({
        code: "missing-value",
        path: `${path}.smallest`,
        allowed: `the smallest part that can be read, in ${as === "degrees" ? "degrees" : "hours"}`,
        message: "A dial needs its smallest readable part.",
      });
    }
  }
  return faults;
}

function limitFaults(limits: unknown): Fault[] {
  const faults: Fault[] = [];
  for (const key of ["hourAngleHours", "declinationDeg"]) {
    const [from, to] = listAt(limits, key);
    if (isNumber(from) && isNumber(to) && from >= to) {
      faults.push({
        code: "limits-out-of-order",
        path: `limits.${key}`,
        found: shown([from, to]),
        allowed: "the smaller limit first",
        message: "The limits are not in order.",
      });
    }
  }
  let before = Number.NEGATIVE_INFINITY;
  listAt(limits, "horizon").forEach((point, index) => {
    const azimuth = Array.isArray(point) ? point[0] : undefined;
    if (!isNumber(azimuth)) return;
    if (azimuth <= before) {
      faults.push({
        code: "horizon-out-of-order",
        path: `limits.horizon[${index}][0]`,
        found: shown(azimuth),
        allowed: `azimuths that grow from pair to pair, here above ${before}`,
        message: "The horizon's azimuths are not in order.",
      });
    }
    before = Math.max(before, azimuth);
  });
  return faults;
}

const jackNeeds = {
  pitchMm: "the rise for one turn, millimetres",
  clockwise: '"raises" or "lowers": what a clockwise turn, seen from above, does to the base',
  raiseLeftMm: "the travel left upward, millimetres",
  lowerLeftMm: "the travel left downward, millimetres",
};

function jackFaults(base: Raw): Fault[] {
  const faults: Fault[] = [];
  const names = new Map<string, number>();
  const lacking = new Map<string, number[]>();
  const jacks = listAt(base, "jacks");
  jacks.forEach((jack, index) => {
    if (!isObject(jack)) return;
    const name = member(jack, "name");
    if (typeof name === "string") {
      const plain = name.trim().toLowerCase();
      const first = names.get(plain);
      if (first !== undefined) {
        faults.push({
          code: "name-given-twice",
          path: `base.jacks[${index}].name`,
          found: shown(name),
          allowed: `a name of its own (base.jacks[${first}] has this one)`,
          message: "Two jacks have the same name.",
        });
      } else names.set(plain, index);
    }
    for (const key of Object.keys(jackNeeds)) {
      if (member(jack, key) === undefined && member(base, key) === undefined) {
        lacking.set(key, [...(lacking.get(key) ?? []), index]);
      }
    }
  });
  for (const [key, indexes] of lacking) {
    const everyJack = indexes.length === jacks.length;
    const places = everyJack ? [`base.${key}`] : indexes.map((index) => `base.jacks[${index}].${key}`);
    for (const path of places) {
      faults.push({
        code: "missing-value",
        path,
        allowed: `${jackNeeds[key as keyof typeof jackNeeds]}, in base for all jacks or in each jack`,
        message: everyJack
          ? "This is given neither for the base nor for its jacks."
          : "This is given for neither this jack nor the base.",
      });
    }
  }
  return faults;
}

function jackPlaceFaults(base: Raw): Fault[] {
  const places = listAt(base, "jacks").map((jack) => {
    const east = member(jack, "eastMm");
    const north = member(jack, "northMm");
    return isNumber(east) && isNumber(north) ? { east, north } : null;
  });
  // The grammar refuses more jacks than so; a hundred thousand would take long to compare.
  if (places.length < 3 || places.length > MOST_JACKS || places.some((place) => place === null)) return [];
  const known = places as { east: number; north: number }[];
  const faults: Fault[] = [];
  known.forEach((place, index) => {
    const same = known.findIndex((other) => other.east === place.east && other.north === place.north);
    if (same < index) {
      faults.push({
        code: "jacks-in-one-place",
        path: `base.jacks[${index}]`,
        found: `${place.east} mm east, ${place.north} mm north`,
        allowed: `a place of its own (base.jacks[${same}] stands there)`,
        message: "Two jacks stand in the same place.",
      });
    }
  });
  if (faults.length === 0 && standInOneLine(known)) {
    faults.push({
      code: "jacks-in-one-line",
      path: "base.jacks",
      allowed: "at least one jack to the side of the line through the others",
      message: "The jacks stand in one line, so they cannot tilt the base both ways.",
    });
  }
  return faults;
}

/** Whether all places lie close to the line through the two that are farthest from each other. */
function standInOneLine(places: readonly { readonly east: number; readonly north: number }[]): boolean {
  let longest = 0;
  let ends = [places[0]!, places[0]!] as const;
  for (const a of places) {
    for (const b of places) {
      const apart = Math.hypot(a.east - b.east, a.north - b.north);
      if (apart > longest) {
        longest = apart;
        ends = [a, b];
      }
    }
  }
  const [from, to] = ends;
  const aside = places.map(
    (place) =>
      Math.abs(
        (to.east - from.east) * (place.north - from.north) -
          (to.north - from.north) * (place.east - from.east),
      ) / longest,
  );
  return Math.max(...aside) < LINE_PART * longest;
}

function customTermFaults(json: unknown): Fault[] {
  const faults: Fault[] = [];
  const names = new Map<string, number>();
  // The grammar allows twenty; more are refused there and not compiled here.
  listAt(json, "customTerms")
    .slice(0, 20)
    .forEach((term, index) => {
      const path = `customTerms[${index}]`;
      const name = member(term, "name");
      if (typeof name === "string") {
        const first = names.get(name);
        if (first !== undefined) {
          faults.push({
            code: "name-given-twice",
            path: `${path}.name`,
            found: shown(name),
            allowed: `a name of its own (customTerms[${first}] has this one)`,
            message: "Two terms have the same name.",
          });
        } else names.set(name, index);
      }
      const { hourAngle = "0", declination = "0" } = isObject(term) ? term : {};
      if (typeof hourAngle !== "string" || typeof declination !== "string" || !isObject(term)) return;
      try {
        const called = typeof name === "string" ? name : "custom";
        compileCustomTerm({ name: called, label: called, hourAngle, declination, tolerance: null }, path);
      } catch (problem) {
        if (!(problem instanceof InputError)) throw problem;
        faults.push(...problem.faults);
      }
    });
  return faults;
}
