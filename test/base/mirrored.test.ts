/**
 * A base, its sky and what is turned on it, seen in a mirror: one that exchanges east and west, and one that exchanges north
 * and south, which takes the mount to the other side of the equator. Every length stays, every sense that the mirror turns
 * round turns round, and nothing else (elementary geometry, no source).
 */
import { describe, expect, it } from "vitest";
import { learnRounds, type RoundGiven } from "../../src/base/rounds.js";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import type { TurnOptions } from "../../src/base/turn-question.js";
import { applyTurns, type TurnMade, turnsOfAdvice } from "../../src/base/turns-made.js";
import type { Base, Jack } from "../../src/mount/mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import {
  advise,
  exampleBase,
  exampleMount,
  jack,
  lowBearing,
  type PoleGiven,
  southBolts,
} from "./example-base.js";

type Mirror = "east and west" | "north and south" | "none";
const exchanged = (word: string, one: string, other: string): string =>
  word === one ? other : word === other ? one : word;
const sense =
  (mirror: Mirror) =>
  (word: string): string =>
    mirror === "east and west" ? exchanged(word, "east", "west") : word;
const endIn = (mirror: Mirror, end: "north" | "south"): "north" | "south" =>
  mirror === "north and south" ? (end === "north" ? "south" : "north") : end;

function baseIn(mirror: Mirror, base: Base): Base {
  const [east, north] = mirror === "east and west" ? [-1, 1] : [1, -1];
  return {
    ...base,
    jacks: base.jacks.map(
      (one): Jack => ({ ...one, eastMm: east * one.eastMm, northMm: north * one.northMm }),
    ),
    azimuthBolts:
      base.azimuthBolts === null ? null : { ...base.azimuthBolts, end: endIn(mirror, base.azimuthBolts.end) },
  };
}
const latitudeIn = (mirror: Mirror, latitude: number): number =>
  mirror === "north and south" ? -latitude : latitude;

function poleIn(mirror: Mirror, pole: PoleGiven): PoleGiven {
  if (mirror === "north and south") return pole;
  return { ...pole, east: -pole.east, covariance: -(pole.covariance ?? 0) };
}
const turnsIn = (mirror: Mirror, turns: readonly TurnMade[]): TurnMade[] =>
  turns.map((turn) => ({ ...turn, direction: sense(mirror)(turn.direction) as TurnMade["direction"] }));

/** The figures of an advice as they stand in the mirror. */
function adviceIn(mirror: Mirror, advice: TurnAdvice) {
  const east = mirror === "east and west" ? -1 : 1;
  const north = mirror === "north and south" ? -1 : 1;
  const way = sense(mirror);
  const level = (one: TurnAdvice["levelChange"]) => ({
    north: north * one.northUpArcmin,
    east: east * one.eastUpArcmin,
    northMm: north * one.northUpMmPerM,
    eastMm: east * one.eastUpMmPerM,
  });
  const { azimuthBolts: bolts, lowerBearing, slide } = advice;
  return {
    verdict: advice.verdict,
    moves: advice.moves.map((move) => ({ ...move, direction: way(move.direction) })),
    jacks: advice.jacks,
    bolts: bolts && { ...bolts, end: endIn(mirror, bolts.end), direction: way(bolts.direction) },
    bearing: lowerBearing && { ...lowerBearing, eastMm: east * lowerBearing.eastMm },
    slide: slide && { ...slide, end: endIn(mirror, slide.end), direction: way(slide.direction) },
    after: { altitude: advice.after.altitude, east: east * advice.after.east },
    afterUncertainty: advice.afterUncertainty,
    zeroShift: east * advice.hourAngleZeroShift,
    warp: advice.warpMm,
    level: level(advice.levelChange),
    choices: advice.choices.map(({ because: _, ...choice }) => ({
      ...choice,
      hourAngleZeroShift: east * choice.hourAngleZeroShift,
    })),
    // The order goes round the feet, in the mirror the other way round: all steps of an adjuster together, the last level.
    steps: advice.moves.map((move) => {
      const own = advice.steps.filter(({ adjuster }) => adjuster === move.adjuster);
      const ways = new Set(own.map(({ direction }) => way(direction)));
      return { ways: [...ways], mm: own.reduce((sum, { mm }) => sum + mm, 0) };
    }),
    lastLevel:
      advice.steps.flatMap((step) => (step.level === undefined ? [] : [level(step.level)])).at(-1) ?? null,
    cautions: advice.cautions.length,
    notes: advice.notes.length,
    reasons: advice.reasons.length,
  };
}

/** Numbers to nine places, and no negative zero. */
const plain = (value: unknown): unknown =>
  JSON.parse(
    JSON.stringify(value, (_, one) => (typeof one === "number" ? Math.round(one * 1e6) / 1e6 + 0 : one)),
  );

/** A base of uneven figures, so that no two choices are equally good. */
function anyBase(seed: number): Base {
  const random = seededRandom(seed);
  const count = [3, 4, 6][seed % 3]!;
  const jacks = Array.from({ length: count }, (_, k) => {
    const angle = (2 * Math.PI * (k + 0.25 * random())) / count;
    return jack(`jack ${k}`, 700 * Math.sin(angle) * (0.9 + 0.2 * random()), 900 * Math.cos(angle), {
      pitchMm: 1.5 + random(),
      clockwise: k % 2 === 0 ? "raises" : "lowers",
      raiseLeftMm: 20 + 20 * random(),
      lowerLeftMm: 5 + 10 * random(),
      softGround: k === 1,
    });
  });
  return exampleBase({
    jacks,
    azimuthBolts: seed % 4 === 1 ? { ...southBolts, end: seed % 8 === 1 ? "south" : "north" } : null,
    lowerBearing: seed % 4 === 2 ? lowBearing : null,
  });
}

const latitudes = [-41, 12, 52, -8];
const seeds = Array.from({ length: 12 }, (_, k) => k + 1);
const poleOf = (seed: number): PoleGiven => {
  const random = seededRandom(100 + seed);
  return { altitude: 25 * gaussian(random), east: 30 * gaussian(random), covariance: 0.07 };
};
const optionsOf = (seed: number): TurnOptions => ({
  azimuthBy: (["auto", "tilt", "slide", "auto"] as const)[seed % 4]!,
  aim: seed % 5 === 0 ? "refracted" : "true",
  ...(seed % 3 === 0
    ? {
        gains: {
          altitude: { jacks: { value: 0.8, uncertainty: 0.1 } },
          east: { tilt: { value: 1.2, uncertainty: 0.05 }, bolts: { value: 0.7, uncertainty: 0.1 } },
        },
      }
    : {}),
});

describe.each(["east and west", "north and south"] as const)("a mirror of %s", (mirror) => {
  it.each(seeds)("gives the same advice, turned round, base %i", (seed) => {
    const [base, latitude, pole] = [anyBase(seed), latitudes[seed % 4]!, poleOf(seed)];
    const advice = advise(latitude, base, pole, optionsOf(seed));
    const other = advise(
      latitudeIn(mirror, latitude),
      baseIn(mirror, base),
      poleIn(mirror, pole),
      optionsOf(seed),
    );
    expect(advice.moves.length).toBeGreaterThan(0);
    expect(plain(adviceIn(mirror, other))).toEqual(plain(adviceIn("none", advice)));
  });

  it.each(seeds)("learns the same of rounds, and says the same of what went otherwise, base %i", (seed) => {
    const [base, latitude] = [anyBase(seed), latitudes[seed % 4]!];
    const random = seededRandom(200 + seed);
    const given = poleOf(seed);
    const made = turnsOfAdvice(advise(latitude, base, given, optionsOf(seed)));
    // What really happened: as asked, but for a part; or with one adjuster that stayed, or went the other way.
    const really = made.map((turn, k): TurnMade => {
      if (k > 0 || seed % 3 === 0) return { ...turn, turns: turn.turns * (0.9 + 0.2 * random()) };
      return { ...turn, turns: seed % 3 === 1 ? 0 : turn.turns / 2, mm: turn.mm === null ? null : 0 };
    });
    const after = applyTurns(base, really, { latitude }, given);
    const level = { north: 1.5 * gaussian(random), east: 2 * gaussian(random) };
    const night = (at: PoleGiven, mirrored: boolean, turnsMade: readonly TurnMade[], meanTimeMs: number) => {
      const pole = mirrored ? poleIn(mirror, at) : at;
      const [north, east] = mirrored ? (mirror === "north and south" ? [-1, 1] : [1, -1]) : [1, 1];
      return {
        pole: {
          altitude: { value: pole.altitude, uncertainty: 0.4 },
          east: { value: pole.east, uncertainty: 0.3 },
          covariance: pole.covariance ?? 0,
        },
        sound: true,
        meanTimeMs,
        turnsMade: mirrored ? turnsIn(mirror, turnsMade) : turnsMade,
        level: turnsMade.length === 0 ? null : { north: north * level.north, east: east * level.east },
        shared: [
          {
            term: "cone",
            tolerance: 20,
            altitude: 0.01,
            east: 0.008 * (mirrored && mirror === "east and west" ? -1 : 1),
          },
        ],
      } satisfies RoundGiven;
    };
    const story = (mirrored: boolean) => {
      const there = { altitude: after.altitude, east: after.east, covariance: 0.07 };
      const mount = mirrored
        ? exampleMount(latitudeIn(mirror, latitude), baseIn(mirror, base))
        : exampleMount(latitude, base);
      const result = learnRounds(mount, [
        night(given, mirrored, made, 0),
        night(there, mirrored, [], 86_400_000),
      ]);
      const east = mirrored && mirror === "east and west" ? -1 : 1;
      return {
        verdict: result.verdict,
        wander: result.wander,
        gains: result.gains,
        now: {
          ...result.now,
          east: { ...result.now.east, value: east * result.now.east.value },
          covariance: east * result.now.covariance,
        },
        asked: result.rounds.map(({ asked }) => ({ altitude: asked.altitude, east: east * asked.east })),
        notes: result.notes.map(({ code, round, adjusters }) => ({ code, round, adjusters })),
        next: result.next === null ? null : adviceIn(mirrored ? mirror : "none", result.next),
      };
    };
    expect(plain(story(true))).toEqual(plain(story(false)));
  });
});
