/**
 * A riddle for a class: a telescope whose errors come from a pass-word. Everyone with the same pass-word has the same one.
 */
import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../angles.js";
import { InputError, shown } from "../errors.js";
import { modelOfMount } from "../fit/bench.js";
import { normalStance } from "../mount/model.js";
import type { Mount } from "../mount/mount.js";
import { parseMount } from "../mount/mount-file.js";
import { type BuiltInTermName, termDescriptions, termNames } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { reduceNight } from "../night/reduce.js";
import type { SimulatedFault } from "./options.js";
import { seededRandom } from "./random.js";
import { simulateNight } from "./simulate-night.js";

/** One error; two; two and a star that is another one; two and a clutch that slipped. */
export type MysteryLevel = 1 | 2 | 3 | 4;

/** What a riddle may be told. */
export interface MysteryOptions {
  /** How hard it is; 1 when not given. */
  readonly level?: MysteryLevel;
  /** Degrees, north positive; the class's own sky. 30° south when not given. */
  readonly latitude?: number;
}

/** A star of the riddle: where it stands, and how far beside it the readings say that the telescope looked. */
export interface MysteryStar {
  /** Counted from 1. */
  readonly row: number;
  readonly star: string;
  readonly hourAngleDeg: number;
  readonly declinationDeg: number;
  /** Reading minus star, on the sky, arcminutes. */
  readonly west: number;
  readonly north: number;
}

/** What a class thinks. */
export interface MysteryGuess {
  /** Arcminutes; a term that is not named is guessed to be 0. */
  readonly terms?: Readonly<Partial<Record<BuiltInTermName, number>>>;
  /** The row of the star that was another one (level 3). */
  readonly wrongStar?: number;
  /** The row from which on the clutch had slipped (level 4). */
  readonly slippedFrom?: number;
}

/** How good a guess is. */
export interface MysteryScore {
  /** 0 to 100. */
  readonly score: number;
  readonly solved: boolean;
  /** In a sentence or two, without giving the answer away. */
  readonly said: string;
}

/** A riddle. */
export interface Mystery {
  readonly password: string;
  readonly level: MysteryLevel;
  readonly latitude: number;
  readonly stars: readonly MysteryStar[];
  /** The same stars as a night, to be fitted. */
  readonly night: Night;
  /** Judges a guess. */
  guess(guess: MysteryGuess): MysteryScore;
  /** The next hint; the last one is repeated. */
  hint(): string;
}

/** The errors that a riddle may hold: those that look different from one another on the sky. */
export const mysteryTerms = ["polarAltitude", "polarEast", "cone", "squareness", "tubeSag"] as const;

const STARS = 16;
const SMALLEST = 15;
const LARGEST = 45;
const SLIP = 60;
const SOLVED_FROM = 90;
/** Of the score so much is for the wrong star or the slip, where there is one. */
const FAULT_SHARE = 25;
const NOISE = 0.3;
const DEFAULT_LATITUDE = -30;
const PARTS: Readonly<Record<(typeof mysteryTerms)[number], string>> = {
  polarAltitude: "the base",
  polarEast: "the base",
  cone: "the tube on its axis",
  squareness: "the axes",
  tubeSag: "the tube itself",
};

/** The 32-bit hash of Fowler, Noll and Vo (FNV-1a, IETF draft-eastlake-fnv). */
function hashOf(text: string): number {
  let hash = 0x811c9dc5;
  for (const byte of new TextEncoder().encode(text)) hash = Math.imul(hash ^ byte, 0x01000193);
  return hash >>> 0;
}

/**
 * A riddle from a pass-word: a telescope with hidden errors, and the stars of a night as it showed them.
 *
 * @param password - any word; the same one gives the same riddle everywhere
 * @throws InputError `mystery-level`, `mystery-password` or `latitude-out-of-range`
 * @example
 * ```ts
 * const riddle = mystery("class-7b", { level: 2 });
 * riddle.guess({ terms: { polarEast: 20, cone: -15 } }).score // 0 to 100
 * ```
 */
export function mystery(password: string, options: MysteryOptions = {}): Mystery {
  const { level = 1, latitude = DEFAULT_LATITUDE } = options;
  const refuse = (code: string, found: unknown, allowed: string, message: string): never => {
    throw new InputError({ code, found: shown(found), allowed, message });
  };
  const word = password.trim();
  if (word === "") refuse("mystery-password", password, "any word", "The riddle needs a pass-word.");
  if (![1, 2, 3, 4].includes(level))
    refuse("mystery-level", level, "1, 2, 3 or 4", "There is no such level.");
  if (!(Math.abs(latitude) <= 80))
    refuse("latitude-out-of-range", latitude, "−80° to 80°", "The riddle has no sky there.");
  const random = seededRandom(hashOf(`${word.toLowerCase()}|${level}`));
  const between = (least: number, most: number): number => least + Math.floor(random() * (most - least + 1));
  const size = (): number => between(SMALLEST, LARGEST) * (random() < 0.5 ? -1 : 1);
  const first = mysteryTerms[between(0, mysteryTerms.length - 1)]!;
  const others = mysteryTerms.filter((name) => name !== first);
  const names = level === 1 ? [first] : [first, others[between(0, others.length - 1)]!];
  const terms = Object.fromEntries(names.map((name) => [name, size()])) as Record<string, number>;
  const row = between(4, STARS - 4);
  const faults: SimulatedFault[] =
    level === 3
      ? [{ kind: "misnamed", row, instead: "neighbour" }]
      : level === 4
        ? [{ kind: "zeros-moved", row, hourAngle: random() < 0.5 ? -SLIP : SLIP, declination: 0 }]
        : [];
  const mount = classMount(latitude);
  const fromMs = Date.UTC(2026, 2, 20, 20);
  const simulated = simulateNight({
    seed: between(1, 1e9),
    mount,
    terms,
    targets: STARS,
    fromMs,
    toMs: fromMs + 2 * 3_600_000,
    noise: NOISE,
    faults,
  });
  const night = { mount: simulated.mount, sightings: simulated.sightings };
  const stars = starsOf(night);
  const hints = hintsOf(level, names, terms);
  let given = 0;
  return {
    password: word,
    level,
    latitude,
    stars,
    night,
    guess: (guess) => scored(guess, { level, terms, row, stars, mount }),
    hint: () => hints[Math.min(given++, hints.length - 1)]!,
  };
}

/** An invented school's telescope with dials in degrees, at the class's latitude. */
function classMount(latitude: number): Mount {
  return parseMount({
    name: "Riddle telescope (invented)",
    site: { latitude, longitude: 0, temperatureC: 10 },
    readings: {
      hourAngle: { as: "degrees", smallest: 0.02 },
      declination: { as: "degrees", smallest: 0.02 },
    },
    limits: { altitudeDeg: 20, hourAngleHours: [-6, 6], declinationDeg: [-80, 80] },
  });
}

function starsOf(night: Night): MysteryStar[] {
  const reduced = reduceNight(night);
  return night.sightings.map((sighting, index) => {
    const [hourAngle, declination] = [reduced.hourAngle[index]!, reduced.declination[index]!];
    return {
      row: sighting.row,
      star: sighting.star,
      hourAngleDeg: hourAngle / DEGREE,
      declinationDeg: declination / DEGREE,
      west: (wrapHalfTurn(reduced.readingHourAngle[index]! - hourAngle) * Math.cos(declination)) / ARCMINUTE,
      north: wrapHalfTurn(reduced.readingDeclination[index]! - declination) / ARCMINUTE,
    };
  });
}

/** By how much errors move the readings at a star: westward and northward on the sky, arcminutes. */
function movedBy(
  terms: Readonly<Partial<Record<string, number>>>,
  mount: Mount,
): (star: MysteryStar) => [number, number] {
  const model = modelOfMount(mount);
  const coefficients = new Float64Array(model.size);
  termNames.forEach((name, index) => {
    coefficients[index] = (terms[name] ?? 0) * ARCMINUTE;
  });
  const out = new Float64Array(2);
  return (star) => {
    const [hourAngle, declination] = [star.hourAngleDeg * DEGREE, star.declinationDeg * DEGREE];
    model.forward(coefficients, hourAngle, declination, normalStance, out);
    return [
      (wrapHalfTurn(out[0]! - hourAngle) * Math.cos(declination)) / ARCMINUTE,
      wrapHalfTurn(out[1]! - declination) / ARCMINUTE,
    ];
  };
}

interface Answer {
  readonly level: MysteryLevel;
  readonly terms: Readonly<Record<string, number>>;
  readonly row: number;
  readonly stars: readonly MysteryStar[];
  readonly mount: Mount;
}

/** How much of the true pattern a guess explains, and whether it names the wrong star or the slip. */
function scored(guess: MysteryGuess, answer: Answer): MysteryScore {
  const { level, row, stars, mount } = answer;
  const truth = movedBy(answer.terms, mount);
  const guessed = movedBy(guess.terms ?? {}, mount);
  let wrong = 0;
  let whole = 0;
  for (const star of stars) {
    const [a, b] = [truth(star), guessed(star)];
    wrong += (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2;
    whole += a[0] ** 2 + a[1] ** 2;
  }
  const explained = Math.max(0, 1 - Math.sqrt(wrong / whole));
  const hasFault = level >= 3;
  const faultFound = level === 3 ? guess.wrongStar === row : level === 4 ? guess.slippedFrom === row : true;
  const share = hasFault ? FAULT_SHARE : 0;
  const score = Math.round((100 - share) * explained + (faultFound ? share : 0));
  const solved = score >= SOLVED_FROM;
  const fault =
    level === 3 ? "the star that is another one" : "the star from which on the clutch had slipped";
  const said = [
    solved
      ? `Solved, with ${score} of 100 points.`
      : explained > 0.6
        ? `${score} of 100 points: you are close.`
        : explained > 0.25
          ? `${score} of 100 points: something of it is right.`
          : `${score} of 100 points: the arrows still look different.`,
    ...(hasFault ? [faultFound ? `You found ${fault}.` : `You have not found ${fault}.`] : []),
  ].join(" ");
  return { score, solved, said };
}

function hintsOf(
  level: MysteryLevel,
  names: readonly (typeof mysteryTerms)[number][],
  terms: Readonly<Record<string, number>>,
): string[] {
  const parts = [...new Set(names.map((name) => PARTS[name]))].join(" and ");
  const sizes = names.map(
    (name) => `the ${termDescriptions[name].label} is ${terms[name]! < 0 ? "negative" : "positive"}`,
  );
  return [
    `Look at ${parts}.`,
    ...(level === 3 ? ["One arrow points where no other does: that star is another one."] : []),
    ...(level === 4
      ? ["From one star on, all arrows have grown to the same side: there the clutch slipped."]
      : []),
    `Of the errors, ${sizes.join(", and ")}.`,
  ];
}
