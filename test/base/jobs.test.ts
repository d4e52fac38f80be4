/** Whole jobs at the base: what went wrong in simulated telescopes, one test each. */
import { describe, expect, test } from "vitest";
import { ARCMINUTE } from "../../src/angles.js";
import { anotherRound } from "../../src/base/another-round.js";
import { type AxisPlace, moveAxis } from "../../src/base/axis-motion.js";
import { expectedMotion } from "../../src/base/gains.js";
import { adviseTurns } from "../../src/base/jack-turns.js";
import { learnRounds, type RoundGiven } from "../../src/base/rounds.js";
import { effectOfTurns, type TurnMade, turnsOfAdvice } from "../../src/base/turns-made.js";
import type { Base } from "../../src/mount/mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import {
  advise,
  exampleBase,
  exampleMount,
  fourJacks,
  lowBearing,
  southBolts,
  threeJacks,
} from "./example-base.js";

const SIGMA = 0.5;

function sighted(place: AxisPlace, random?: () => number): RoundGiven["pole"] {
  const off = (): number => (random === undefined ? 0 : SIGMA * gaussian(random));
  return {
    altitude: { value: place.altitude + off(), uncertainty: SIGMA },
    east: { value: place.east + off(), uncertainty: SIGMA },
    covariance: 0,
  };
}

const night = (
  pole: RoundGiven["pole"],
  turnsMade: readonly TurnMade[] = [],
  more: Partial<RoundGiven> = {},
): RoundGiven => ({ pole, sound: true, meanTimeMs: null, turnsMade, ...more });

const one = (value: number) => ({ value, uncertainty: 0 });
/** What really happens: each means follows by its own true gain. */
function really(
  base: Base,
  latitude: number,
  from: AxisPlace,
  made: readonly TurnMade[],
  gain: Readonly<Record<string, number>>,
): AxisPlace {
  const gains = Object.fromEntries(
    ["jacks", "tilt", "bolts", "lowerBearing", "slide"].map((by) => [by, one(gain[by] ?? 1)]),
  );
  return moveAxis(
    from,
    expectedMotion(effectOfTurns(base, made, latitude), { altitude: gains, east: gains }),
    latitude,
  );
}

describe("a left-hand thread in one means alone is named on the second night, and nothing is turned by it", () => {
  const all = { azimuthBolts: southBolts, lowerBearing: { ...lowBearing, travelMm: 60 } };
  const cases = [
    ["jacks", exampleBase({ azimuthBolts: southBolts }), {}, { jacks: -1, tilt: -1 }, "north-east"],
    ["jacks that tilt both ways", exampleBase(), {}, { jacks: -1, tilt: -1 }, "north-east"],
    ["bolts", exampleBase({ azimuthBolts: southBolts }), {}, { bolts: -1 }, "azimuth bolts"],
    [
      "lower bearing",
      exampleBase(all),
      { azimuthBy: "lowerBearing", altitudeBy: "jacks" },
      { lowerBearing: -1 },
      "lower bearing",
    ],
  ] as const;
  for (const [name, base, options, gain, named] of cases) {
    test.each([-30, 48.2])(`${name}, latitude %f`, (latitude) => {
      const mount = exampleMount(latitude, base);
      for (const east of [-18, 14]) {
        const start = { altitude: latitude > 0 === east > 0 ? 16 : -16, east };
        const made = turnsOfAdvice(advise(latitude, base, start, options));
        const there = really(base, latitude, start, made, gain);
        const result = learnRounds(mount, [night(sighted(start), made), night(sighted(there))], options);
        const note = result.notes.find(({ code }) => code === "turned-the-wrong-way")!;
        expect(note, JSON.stringify(result.notes)).toBeDefined();
        expect(note.adjusters.some((adjuster) => adjuster.includes(named) || named === "north-east")).toBe(
          true,
        );
        if (named === "azimuth bolts") expect(note.adjusters).toEqual(["azimuth bolts"]);
        if (named === "north-east") expect(note.adjusters).not.toContain("azimuth bolts");
        expect(result).toMatchObject({
          verdict: "unsound",
          next: { recommended: false, steps: [], moves: [] },
        });
        expect(result.next!.reasons[0]).toContain("left-handed");
        expect(result.gains.every(({ learned, value }) => !learned || value > 0)).toBe(true);
      }
    });
  }

  test("once the mount file says so the same turns teach a gain and go on", () => {
    const wrong = exampleBase({ azimuthBolts: southBolts });
    const mended = exampleBase({ jacks: fourJacks({ clockwise: "lowers" }), azimuthBolts: southBolts });
    const start = { altitude: 16, east: -18 };
    const made = turnsOfAdvice(advise(-30, wrong, start));
    const there = really(wrong, -30, start, made, { jacks: -1, tilt: -1 });
    const result = learnRounds(exampleMount(-30, mended), [
      night(sighted(start), made),
      night(sighted(there)),
    ]);
    expect(result.notes.every(({ code }) => code === "gain-learned")).toBe(true);
    expect(result.verdict).toBe("turn");
    expect(result.gains.find(({ by }) => by === "jacks")!.value).toBeCloseTo(1, 1);
  });
});

describe("travel that has been used is no longer left", () => {
  test("jacks with 3 mm in three rounds of an axis that always comes out too low", () => {
    const base = exampleBase({
      jacks: fourJacks({ raiseLeftMm: 3, lowerLeftMm: 2 }),
      azimuthBolts: southBolts,
    });
    const mount = exampleMount(45, base);
    const nights: RoundGiven[] = [];
    const rise = base.jacks.map(() => 0);
    for (let round = 0; round < 4; round++) {
      const pole = sighted({ altitude: -30, east: 0 });
      const { next } = learnRounds(mount, [...nights, night(pole)], { settlingArcmin: 40 });
      const made = turnsOfAdvice(next!);
      // Step by step, not only at the end.
      for (const step of next!.steps) {
        const jack = base.jacks.findIndex(({ name }) => name === step.adjuster);
        if (jack < 0) continue;
        rise[jack]! += step.direction === "clockwise" ? step.mm : -step.mm;
        expect(rise[jack]!).toBeLessThanOrEqual(3 + 1e-9);
        expect(rise[jack]!).toBeGreaterThanOrEqual(-2 - 1e-9);
      }
      nights.push(night(pole, made));
    }
    expect(Math.max(...rise)).toBeGreaterThan(2.5);
  });

  test.each([
    ["azimuth bolts", { azimuthBolts: { ...southBolts, travelMm: 6 } }, { azimuthBy: "bolts" }, 6],
    ["lower bearing", { lowerBearing: { ...lowBearing, travelMm: 5 } }, { azimuthBy: "lowerBearing" }, 5],
  ] as const)("%s", (adjuster, more, options, travel) => {
    const base = exampleBase(more);
    const used: TurnMade[] = [];
    let way = 0;
    for (let round = 0; round < 4; round++) {
      const advice = advise(45, base, { altitude: 0, east: -15 }, { ...options, used });
      const move = advice.moves.find((candidate) => candidate.adjuster === adjuster);
      way += move === undefined ? 0 : (move.direction === "east" ? 1 : -1) * move.mm;
      expect(Math.abs(way)).toBeLessThanOrEqual(travel + 1e-9);
      used.push(...turnsOfAdvice(advice));
    }
    expect(Math.abs(way)).toBeGreaterThan(travel - 1.1);
    // And the whole way back is free again.
    const back = advise(45, base, { altitude: 0, east: 20 }, { ...options, used });
    expect(back.moves[0]!.mm).toBeGreaterThan(Math.abs(way));
  });
});

test("an altitude that the jacks cannot reach does not hold up free azimuth bolts", () => {
  const base = exampleBase({
    jacks: fourJacks({ raiseLeftMm: 5, lowerLeftMm: 0 }),
    azimuthBolts: southBolts,
  });
  const advice = advise(51.5, base, { altitude: -40, east: -12 });
  expect(advice.azimuthBolts).not.toBeNull();
  expect(Math.abs(advice.after.east)).toBeLessThan(0.6);
  expect(advice.notes.join(" ")).toMatch(/the jacks reach only \d+ % of the way/);
  expect(advice.notes.join(" ")).not.toContain("bolts");
});

describe("one verdict", () => {
  const mount = exampleMount(-30, exampleBase({ azimuthBolts: southBolts }));
  const pole = (altitude: number, uncertainty: number) => ({
    altitude: { value: altitude, uncertainty },
    east: { value: 0, uncertainty },
    covariance: 0,
  });
  const evidence = { allows: "advice", missing: 0, unsound: false } as const;

  test("a correction is worth turning where it is surer than what it may cost", () => {
    expect(anotherRound({ mount, pole: pole(4, 1), evidence }).verdict).toBe("turn");
    expect(anotherRound({ mount, pole: pole(2.5, 1), evidence }).verdict).toBe("stop");
  });

  test("too few sightings, or none to be trusted, give no turns and no stop", () => {
    const few = anotherRound({
      mount,
      pole: pole(40, 1),
      evidence: { allows: "values", missing: 2, unsound: false },
    });
    expect(few).toMatchObject({ verdict: "not-known-yet", missing: 2 });
    const bad = anotherRound({
      mount,
      pole: pole(40, 1),
      evidence: { allows: "nothing", missing: 0, unsound: true },
    });
    expect(bad.verdict).toBe("unsound");
  });

  test("a camera that would not show a better axis stops a round that is measured well enough", () => {
    // 1″ a pixel: an axis 1.2′ off smears 0.35″ in a minute, a sixth of two pixels.
    const camera = { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 };
    const near = { pole: pole(0.6, 0.1), evidence };
    expect(anotherRound({ mount, ...near }).verdict).toBe("turn");
    expect(anotherRound({ mount: { ...mount, camera }, ...near }).verdict).toBe("stop");
    expect(anotherRound({ mount: { ...mount, camera }, pole: pole(6, 0.5), evidence }).verdict).toBe("turn");
  });

  test("the figures of an example give no turns", () => {
    const base = { ...exampleBase(), confirmed: false };
    const advice = advise(-30, base, { altitude: 20, east: 5 });
    expect(advice).toMatchObject({ verdict: "unsound", recommended: false, moves: [] });
    expect(advice.reasons[0]).toContain('"confirmed"');
  });

  test("an advised round hardly ever leaves the axis worse by more than the stated uncertainty", () => {
    const random = seededRandom(11);
    const base = exampleBase({ azimuthBolts: southBolts });
    let advised = 0;
    let worse = 0;
    for (let job = 0; job < 400; job++) {
      const latitude = [-30, 48, 35][job % 3]!;
      // Near the pole, where the decision is hard.
      const place = { altitude: 3 * gaussian(random), east: 3 * gaussian(random) };
      const advice = adviseTurns({
        mount: exampleMount(latitude, base),
        pole: sighted(place, random),
        sound: true,
        troubles: [],
      });
      if (!advice.recommended) continue;
      advised += 1;
      const gain = { jacks: 0.85 + 0.3 * random(), bolts: 0.85 + 0.3 * random() };
      const after = really(base, latitude, place, turnsOfAdvice(advice), gain);
      const sigma = Math.hypot(advice.afterUncertainty.altitude, advice.afterUncertainty.east);
      const harm = Math.hypot(after.altitude, after.east) - Math.hypot(place.altitude, place.east);
      if (harm > sigma) worse += 1;
    }
    expect(advised).toBeGreaterThan(150);
    expect(worse / advised).toBeLessThan(0.02);
  });
});

describe("rounds", () => {
  test("an axis that wanders by 2′ a month is not one place", () => {
    const month = 30 * 86_400_000;
    const mount = exampleMount(45, exampleBase({ azimuthBolts: southBolts }));
    const random = seededRandom(4);
    const nights = [0, 1, 2, 3, 4].map((index) =>
      night(sighted({ altitude: -1.5 + 2 * index, east: 0 }, random), [], { meanTimeMs: index * month }),
    );
    const { now, notes } = learnRounds(mount, nights);
    expect(Math.abs(now.altitude.value - 6.5)).toBeLessThan(2 * now.altitude.uncertainty);
    expect(notes.some(({ code }) => code === "settling")).toBe(true);
    // One that stays is one place, better known than by one night.
    const still = learnRounds(
      mount,
      nights.map((_, index) =>
        night(sighted({ altitude: 3, east: 0 }, random), [], { meanTimeMs: index * month }),
      ),
    );
    expect(still.notes).toEqual([]);
    expect(still.now.altitude.uncertainty).toBeLessThan(SIGMA);
  });

  test("what the sags make of every night alike is not averaged away", () => {
    const mount = exampleMount(45, exampleBase());
    const shared = [{ term: "tubeSag", tolerance: 3, altitude: 0.15, east: 0 }];
    const nights = Array.from({ length: 8 }, () => night(sighted({ altitude: 2, east: 0 }), [], { shared }));
    // 3′ of sag make 0.45′ of altitude in each night: less than that eight nights do not tell.
    expect(learnRounds(mount, nights).now.altitude.uncertainty).toBeGreaterThan(0.42);
  });

  test("gains learned from 60′ are as sure as they say: tilt and azimuth are taken in the order of the steps", () => {
    const base = exampleBase({ jacks: fourJacks({ raiseLeftMm: 80 }), azimuthBolts: southBolts });
    for (const [latitude, altitude, east] of [
      [-30, -50, 60],
      [48, 45, -55],
      [35, -60, -40],
    ] as const) {
      const start = { altitude, east };
      const made = turnsOfAdvice(advise(latitude, base, start));
      const there = really(base, latitude, start, made, {});
      const { gains } = learnRounds(exampleMount(latitude, base), [
        night(sighted(start), made),
        night(sighted(there)),
      ]);
      for (const gain of gains.filter(({ learned }) => learned)) {
        expect(Math.abs(gain.value - 1)).toBeLessThan(0.5 * gain.uncertainty);
      }
    }
  });

  test("a level that shows another tilt names the jack that was not turned", () => {
    const base = exampleBase({ jacks: threeJacks() });
    const made: TurnMade[] = [
      { adjuster: "north", turns: 4, direction: "clockwise", mm: null },
      { adjuster: "south-west", turns: 2, direction: "clockwise", mm: null },
    ];
    const mount = exampleMount(45, base);
    const from = sighted({ altitude: -30, east: 5 });
    const levels = (turns: readonly TurnMade[]) => {
      const { whole } = effectOfTurns(base, turns, 45);
      return { north: 1000 * whole.slopeNorth, east: 1000 * whole.slopeEast };
    };
    const told = (level: RoundGiven["level"]) =>
      learnRounds(mount, [night(from, made, { level: level ?? null })]).notes.find(
        ({ code }) => code === "level-differs",
      );
    expect(told(levels(made))).toBeUndefined();
    expect(told(levels(made.slice(1)))!.adjusters[0]).toBe("north");
  });

  test("the last night decides whether, all nights how far", () => {
    const mount = exampleMount(45, exampleBase({ azimuthBolts: southBolts }));
    const verdict = { verdict: "stop", missing: 0, because: "Stop here." } as const;
    const nights = [
      night(sighted({ altitude: 20, east: 0 })),
      night(sighted({ altitude: 20, east: 0 }), [], { verdict }),
    ];
    expect(learnRounds(mount, nights)).toMatchObject({
      verdict: "stop",
      next: { recommended: false },
      done: true,
    });
  });
});

test("at 12° latitude without bolts a slide of some millimetres serves better than 14 mm of tilt", () => {
  const advice = advise(12, exampleBase(), { altitude: 0, east: 10 });
  expect(advice.slide).not.toBeNull();
  // 10′ of azimuth on a base 1.6 m long: 1600 · 10′ / cos 12°.
  expect(advice.slide!.shiftMm).toBeCloseTo((1600 * 10 * ARCMINUTE) / Math.cos(12 * 60 * ARCMINUTE), 0);
  expect(advice.levelChange.eastUpArcmin).toBe(0);
  // A rest of a millimetre is no matter of levers: there the tilt is small.
  expect(advise(12, exampleBase(), { altitude: 0, east: 2 }).slide).toBeNull();
  // In middle latitudes the tilt is cheap.
  expect(advise(-30, exampleBase(), { altitude: 0, east: 10 }).slide).toBeNull();
});

test("a pier with bolts alone, and two jacks, get what advice there is", () => {
  const pier = advise(45, exampleBase({ jacks: [], azimuthBolts: southBolts }), { altitude: 12, east: -15 });
  expect(pier.azimuthBolts).not.toBeNull();
  expect(pier.notes.join(" ")).toContain("nothing on the base can move the axis");
  const two = exampleBase({ jacks: fourJacks().slice(0, 2), azimuthBolts: southBolts });
  expect(advise(45, two, { altitude: 12, east: -15 }).azimuthBolts).not.toBeNull();
});
