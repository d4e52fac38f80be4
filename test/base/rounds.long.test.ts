import { describe, expect, test } from "vitest";
import { type AxisPlace, moveAxis } from "../../src/base/axis-motion.js";
import { expectedMotion, type Gains, gainBefore, gainOf, gainsBefore } from "../../src/base/gains.js";
import { explainChange } from "../../src/base/round-troubles.js";
import { learnRounds, type RoundGiven, rounds } from "../../src/base/rounds.js";
import { parseTurned } from "../../src/base/turned-file.js";
import { effectOfTurns, type TurnMade, turnsOfAdvice } from "../../src/base/turns-made.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import type { Base } from "../../src/mount/mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { exampleBase, exampleMount, fourJacks, lowBearing, southBolts, threeJacks } from "./example-base.js";

/** What 24 sightings at 2.16′ a step leave open, 1σ, arcminutes. */
const SIGMA_ALTITUDE = 0.4;
const SIGMA_EAST = 0.3;
const CORRELATION = 0.3;
const COVARIANCE = CORRELATION * SIGMA_ALTITUDE * SIGMA_EAST;

function sighted(place: AxisPlace, random: () => number): RoundGiven["pole"] {
  const [u, v] = [gaussian(random), gaussian(random)];
  return {
    altitude: { value: place.altitude + SIGMA_ALTITUDE * u, uncertainty: SIGMA_ALTITUDE },
    east: {
      value: place.east + SIGMA_EAST * (CORRELATION * u + Math.sqrt(1 - CORRELATION ** 2) * v),
      uncertainty: SIGMA_EAST,
    },
    covariance: COVARIANCE,
  };
}

function known(place: AxisPlace): RoundGiven["pole"] {
  return {
    altitude: { value: place.altitude, uncertainty: SIGMA_ALTITUDE },
    east: { value: place.east, uncertainty: SIGMA_EAST },
    covariance: COVARIANCE,
  };
}

function night(
  pole: RoundGiven["pole"],
  turnsMade: readonly TurnMade[] = [],
  meanTimeMs: number | null = null,
): RoundGiven {
  return { pole, sound: true, meanTimeMs, turnsMade };
}

function trueGains(altitude: number, east: number): Gains {
  const fixed = (value: number) => ({ value, uncertainty: 0 });
  return {
    altitude: { jacks: fixed(altitude), lowerBearing: fixed(altitude) },
    east: { bolts: fixed(east), tilt: fixed(east), lowerBearing: fixed(east), slide: fixed(east) },
  };
}

/** What really happens: each hand is off by up to half a smallest turn, the floor and threads follow by the true gains. */
function really(
  base: Base,
  latitude: number,
  from: AxisPlace,
  made: readonly TurnMade[],
  gains: Gains,
  random: () => number,
): AxisPlace {
  const byHand = made.map((turn) =>
    turn.mm === null ? { ...turn, turns: Math.max(0, turn.turns + 0.125 * (random() - 0.5)) } : turn,
  );
  return moveAxis(from, expectedMotion(effectOfTurns(base, byHand, latitude), gains), latitude);
}

describe("the goal in simulation: within 1.5′ after two rounds, with true gains from 0.7 to 1.3", () => {
  const cases: readonly (readonly [string, Base, number])[] = [
    ["four jacks, tilt", exampleBase(), -30],
    ["four jacks, bolts", exampleBase({ azimuthBolts: southBolts }), -30],
    ["three jacks, tilt", exampleBase({ jacks: threeJacks() }), 51.5],
    ["four jacks, lower bearing", exampleBase({ lowerBearing: lowBearing }), -52.3],
    ["four jacks near the equator", exampleBase(), 12],
  ];
  for (const [name, base, latitude] of cases) {
    test(`${name}, latitude ${latitude}`, () => {
      const random = seededRandom(20260314 + Math.round(latitude));
      const mount = exampleMount(latitude, base);
      const trials = 200;
      let reached = 0;
      let covered = 0;
      let counted = 0;
      for (let trial = 0; trial < trials; trial++) {
        const gains = trueGains(0.7 + 0.6 * random(), 0.7 + 0.6 * random());
        let place: AxisPlace = { altitude: 60 * (random() - 0.5), east: 40 * (random() - 0.5) };
        const nights: RoundGiven[] = [];
        for (let round = 0; round < 2; round++) {
          const pole = sighted(place, random);
          const { next } = learnRounds(mount, [...nights, night(pole)]);
          const made = turnsOfAdvice(next!);
          nights.push(night(pole, made));
          place = really(base, latitude, place, made, gains, random);
        }
        if (Math.hypot(place.altitude, place.east) <= 1.5) reached += 1;
        const learned = learnRounds(mount, [...nights, night(sighted(place, random))]);
        for (const gain of learned.gains.filter((one) => one.learned && one.uncertainty < 0.05)) {
          const truth = gain.axis === "altitude" ? gains.altitude.jacks.value : gains.east.tilt.value;
          counted += 1;
          if (Math.abs(gain.value - truth) < 1.96 * gain.uncertainty) covered += 1;
        }
      }
      expect(reached / trials).toBeGreaterThanOrEqual(0.95);
      // The stated uncertainty of the gains is honest: 95 % within 1.96σ; 300 and more cases know that to about 2 %.
      expect(counted).toBeGreaterThan(150);
      expect(covered / counted).toBeGreaterThan(0.9);
    });
  }
});

describe("learning", () => {
  const base = exampleBase();
  const mount = exampleMount(45, base);
  const raiseNorth = (turns: number, direction: "clockwise" | "anticlockwise" = "clockwise"): TurnMade[] => [
    { adjuster: "north-east", turns, direction, mm: null },
    { adjuster: "north-west", turns, direction, mm: null },
  ];

  test("one round is the weighted update of 1 ± 0.2 by hand", () => {
    // Four turns of 2 mm on 1.6 m: 17.19′ up asked for; found 13.0′.
    const asked = (Math.atan(8 / 1600) * 180 * 60) / Math.PI;
    const result = learnRounds(
      mount,
      [night(known({ altitude: -17, east: 0 }), raiseNorth(4)), night(known({ altitude: -4, east: 0 }))],
      { settlingArcmin: 0 },
    );
    const gain = result.gains.find((one) => one.axis === "altitude" && one.by === "jacks")!;
    // Two nights of 0.4′, and two jacks set to 1/8 turn / √12 each: 0.072 mm · √2 on 3.2 m.
    const setting = ((0.25 / Math.sqrt(12)) * Math.SQRT2 * (1 / 3200) * 180 * 60) / Math.PI;
    const variance = (2 * SIGMA_ALTITUDE ** 2 + setting ** 2) / asked ** 2;
    const weight = 0.04 / (0.04 + variance);
    // East was not asked to move, and its correlation with altitude teaches a little: to 0.01.
    expect(gain.value).toBeCloseTo(1 + weight * (13 / asked - 1), 1.5);
    expect(gain.uncertainty).toBeCloseTo(Math.sqrt((1 - weight) * 0.04), 2);
    expect(gain.learned).toBe(true);
    expect(result.gains.find((one) => one.by === "tilt")).toMatchObject({ ...gainBefore, learned: false });
    expect(result.rounds[0]!.asked.altitude).toBeCloseTo(asked, 1);
    expect(result.rounds[0]!.found!.altitude.value).toBeCloseTo(13, 9);
    expect(result.rounds[0]!.gain.altitude!.value).toBeCloseTo(13 / asked, 2);
    expect(result.rounds[0]!.gain.east).toBeNull();
    expect(result.notes.map((note) => note.code)).toEqual(["gain-learned"]);
    expect(result.next!.recommended).toBe(true);
    expect(JSON.parse(JSON.stringify(result))).toEqual(result);
  });

  test("the next turns use the gain", () => {
    const nights = [
      night(known({ altitude: -40, east: 0 }), raiseNorth(8)),
      night(known({ altitude: -15.9, east: 0 })),
    ];
    const { next } = learnRounds(mount, nights);
    // Found 24.1′ of 34.4′: gain 0.70; 15.9′ need 15.9 / 0.70 = 22.7′ of tilt, 10.6 mm.
    const north = next!.jacks.find((turn) => turn.name === "north-east")!;
    expect(Math.abs(north.riseMm - 10.6)).toBeLessThan(0.4);
  });

  test("a first night alone gives the turns that the fit alone would give", () => {
    const pole = known({ altitude: -17, east: 6 });
    const alone = learnRounds(mount, [night(pole)]);
    expect(alone.notes).toEqual([]);
    expect(alone.now).toMatchObject({ altitude: pole.altitude, east: pole.east });
    expect(alone.next!.jacks.map((turn) => turn.riseMm).some((rise) => rise > 5)).toBe(true);
    expect(alone.gains.every((gain) => !gain.learned)).toBe(true);
  });

  test("turns not yet sighted: sight again first, and where the axis should be", () => {
    const result = learnRounds(mount, [night(known({ altitude: -17, east: 0 }), raiseNorth(4))]);
    expect(result.next).toBeNull();
    expect(result.done).toBe(false);
    expect(result.now.altitude.value).toBeCloseTo(0.2, 1);
    expect(result.now.altitude.uncertainty).toBeGreaterThan(3);
    expect(result.notes.map((note) => note.code)).toEqual(["sight-again"]);
  });

  test("done when nothing is worth turning", () => {
    const result = learnRounds(mount, [night(known({ altitude: 0.2, east: -0.1 }))]);
    expect(result.done).toBe(true);
    expect(result.reasons.at(-1)).toBe("No further round is worth turning.");
  });
});

describe("what went otherwise than it should", () => {
  const base = exampleBase();
  const mount = exampleMount(45, base);
  const made: TurnMade[] = [
    { adjuster: "north-east", turns: 5, direction: "clockwise", mm: null },
    { adjuster: "north-west", turns: 3, direction: "clockwise", mm: null },
    { adjuster: "south-east", turns: 2, direction: "clockwise", mm: null },
  ];
  const from = { altitude: -18, east: 7 };
  const placeAfter = (turns: readonly TurnMade[]): AxisPlace =>
    moveAxis(from, effectOfTurns(base, turns, 45).whole, 45);

  test("a jack that did not move is named, with how far it really went", () => {
    const result = learnRounds(mount, [
      night(known(from), made),
      night(known(placeAfter(made.filter((turn) => turn.adjuster !== "north-east")))),
    ]);
    const note = result.notes.find((one) => one.code === "jack-did-not-follow")!;
    expect(note.round).toBe(1);
    expect(note.adjusters[0]).toBe("north-east");
    expect(note.message).toMatch(/as if north-east had gone [+−]0\.\d\d mm instead of \+10\.0 mm/);
    // And nothing false is learned from it.
    expect(result.gains.every((gain) => !gain.learned && gain.value === 1)).toBe(true);
    expect(result.now.altitude.value).toBeCloseTo(placeAfter(made.slice(1)).altitude, 6);
  });

  test("everything turned the wrong way", () => {
    const opposite = made.map((turn) => ({ ...turn, direction: "anticlockwise" as const }));
    const result = learnRounds(mount, [night(known(from), made), night(known(placeAfter(opposite)))]);
    expect(result.notes[0]).toMatchObject({ code: "turned-the-wrong-way", round: 1 });
    expect(result.notes[0]!.remedy).toContain("left-handed");
  });

  test("turns that were written down and not made", () => {
    const result = learnRounds(mount, [night(known(from), made), night(known(from))]);
    expect(result.notes[0]).toMatchObject({
      code: "nothing-moved",
      round: 1,
      adjusters: ["north-east", "north-west", "south-east"],
    });
    expect(result.notes[0]!.remedy).toContain("make them now");
    expect(result.gains.every((gain) => !gain.learned && gain.value === 1)).toBe(true);
    expect(result.now.altitude.value).toBeCloseTo(from.altitude, 6);
    expect(result.notes[0]!.remedy).toContain("without learning a gain");
    // A quarter of the way is not nothing.
    const there = placeAfter(made);
    const quarter = {
      altitude: from.altitude + (there.altitude - from.altitude) / 4,
      east: from.east + (there.east - from.east) / 4,
    };
    const moved = learnRounds(mount, [night(known(from), made), night(known(quarter))]);
    expect(moved.notes[0]!.code).not.toBe("nothing-moved");
    // One screw alone is told by its name.
    const one = learnRounds(mount, [night(known(from), made.slice(0, 1)), night(known(from))]);
    expect(one.notes[0]).toMatchObject({ code: "jack-did-not-follow", adjusters: ["north-east"] });
  });

  test("a change that no screw explains is taken as it is", () => {
    const there = placeAfter(made);
    const result = learnRounds(mount, [
      night(known(from), made),
      night(known({ altitude: there.altitude + 12, east: there.east + 14 })),
    ]);
    expect(result.notes[0]!.code).toBe("unexplained-change");
    expect(result.now.altitude.value).toBeCloseTo(there.altitude + 12, 0);
  });

  test("a floor that settles between nights, how far and how fast", () => {
    const day = 86_400_000;
    const result = learnRounds(mount, [
      night(known({ altitude: 1, east: 0 }), [], 0),
      night(known({ altitude: -5, east: 0.5 }), [], 3 * day),
    ]);
    expect(result.notes[0]).toMatchObject({ code: "settling", round: 1 });
    expect(result.notes[0]!.message).toContain("moved 6.0′ down and 0.5′ east in 3.0 days, 2.0′ a day");
    const still = learnRounds(mount, [
      night(known({ altitude: 1, east: 0 }), [], 0),
      night(known({ altitude: 0.4, east: 0.5 }), [], 3 * day),
    ]);
    expect(still.notes).toEqual([]);
  });

  test("a floor that is known to settle raises no alarm by settling so", () => {
    const nights = [night(known({ altitude: 1, east: 0 })), night(known({ altitude: -5, east: 0.5 }))];
    const codes = (settlingArcmin: number) =>
      learnRounds(mount, nights, { settlingArcmin }).notes.map((note) => note.code);
    expect(codes(0.2)).toEqual(["settling"]);
    expect(codes(3)).toEqual([]);
  });

  test("a slide that was not made is named, and teaches nothing", () => {
    const slid: TurnMade[] = [{ adjuster: "base", turns: 0, direction: "east", mm: 8 }];
    const there = { altitude: 3, east: 12 };
    const result = learnRounds(mount, [night(known(there), slid), night(known(there))]);
    const note = result.notes[0]!;
    expect(note).toMatchObject({ code: "jack-did-not-follow", round: 1, adjusters: ["base"] });
    expect(note.message).toMatch(/as if base had gone [+−]0\.\d\d mm instead of \+8\.00 mm/);
    expect(note.remedy).toContain("slid as written down");
    expect(result.gains.every((gain) => !gain.learned && gain.value === 1)).toBe(true);
    // Beside a screw that did follow it is found too.
    const both = [...slid, { adjuster: "north-east", turns: 2, direction: "clockwise", mm: null } as const];
    const after = moveAxis(there, effectOfTurns(base, both.slice(1), 45).whole, 45);
    const second = learnRounds(mount, [night(known(there), both), night(known(after))]);
    expect(second.notes[0]!.adjusters[0]).toBe("base");
  });

  test.each([
    ["east", { bearingEast: 5 / 1200, bearingUp: 0 }],
    ["up", { bearingEast: 0, bearingUp: 5 / 1200 }],
  ] as const)("a lower bearing that stayed went 0 mm %s, whatever its gain", (direction, part) => {
    const withBearing = exampleBase({ lowerBearing: lowBearing });
    const turns: TurnMade[] = [{ adjuster: "lower bearing", turns: 5, direction, mm: null }];
    const gains = trueGains(0.6, 0.6);
    const effect = effectOfTurns(withBearing, turns, 45);
    expect(effect.whole).toMatchObject(part);
    const expected = moveAxis(from, expectedMotion(effect, gains), 45);
    const note = explainChange({
      base: withBearing,
      latitudeDeg: 45,
      turns,
      effect,
      gains,
      from,
      surprise: [from.altitude - expected.altitude, from.east - expected.east],
      covariance: [
        [0.32, 0],
        [0, 0.18],
      ],
      round: 1,
    });
    expect(note.message).toMatch(/had gone [+−]0\.0\d mm instead of \+5\.00 mm/);
  });

  test("a gain that nothing could have is not learned, nor turned by", () => {
    // Both northern jacks written down, neither moved the axis: the gain comes out as 0.
    const both: TurnMade[] = ["north-east", "north-west"].map((adjuster) => ({
      adjuster,
      turns: 4,
      direction: "clockwise",
      mm: null,
    }));
    const there = { altitude: -17, east: 0 };
    const result = learnRounds(mount, [night(known(there), both), night(known(there))]);
    expect(result.notes.map((note) => note.code)).toEqual(["nothing-moved"]);
    expect(result.notes[0]!.remedy).toContain("without learning a gain");
    const gain = result.gains.find((one) => one.axis === "altitude" && one.by === "jacks")!;
    expect(gain).toMatchObject({ value: 1, uncertainty: 0.5, learned: false });
    expect(result.now.altitude.value).toBeCloseTo(-17, 6);
    // So the next turns are those of the first night again, about as uncertain as half of them.
    expect(result.next!.after.altitude).toBeCloseTo(0, 0);
    expect(result.next!.afterUncertainty.altitude).toBeGreaterThan(8);
  });

  test("after an axis that went three times too far the next turns are the shorter ones", () => {
    const both: TurnMade[] = ["north-east", "north-west"].map((adjuster) => ({
      adjuster,
      turns: 4,
      direction: "clockwise",
      mm: null,
    }));
    // 17.2′ were asked for.
    const result = learnRounds(mount, [
      night(known({ altitude: -17, east: 0 }), both),
      night(known({ altitude: 34.6, east: 0 })),
    ]);
    expect(result.notes.map((note) => note.code)).toEqual(["unexplained-change"]);
    const gain = result.gains.find((one) => one.axis === "altitude" && one.by === "jacks")!;
    expect(gain).toMatchObject({ value: 2, uncertainty: 0.5, learned: false });
  });

  test("a gain outside the range is cut for turning, and then no longer taken for well known", () => {
    const { next } = learnRounds(mount, [night(known({ altitude: -6, east: 0 }))], {
      gainBefore: { value: 0.1, uncertainty: 0.01 },
    });
    // The gain taken, 0.3, is known to no better than 0.5: the way of 6′ is uncertain by more than all of it.
    expect(next!.afterUncertainty.altitude).toBeGreaterThan(6);
  });

  test("false calls are rare: honest rounds with gains as known beforehand raise few alarms", () => {
    const random = seededRandom(99);
    const trials = 400;
    let alarms = 0;
    for (let trial = 0; trial < trials; trial++) {
      const gains = trueGains(1 + 0.2 * gaussian(random), 1 + 0.2 * gaussian(random));
      const place = { altitude: 50 * (random() - 0.5), east: 30 * (random() - 0.5) };
      const pole = sighted(place, random);
      const turns = turnsOfAdvice(learnRounds(mount, [night(pole)]).next!);
      const moved = really(base, 45, place, turns, gains, random);
      const result = learnRounds(mount, [night(pole, turns), night(sighted(moved, random))]);
      if (result.notes.some((note) => note.code !== "gain-learned")) alarms += 1;
    }
    // Expected 0.27 % of 400, about one; five or more would come by chance once in 200 times.
    expect(alarms).toBeLessThan(5);
  });

  test("a night that cannot be trusted teaches nothing, and its turns count to the night before", () => {
    const lost: RoundGiven = { ...night(known({ altitude: 300, east: 300 }), made.slice(1)), sound: false };
    const result = learnRounds(mount, [
      night(known(from), made.slice(0, 1)),
      lost,
      night(known(placeAfter(made))),
    ]);
    expect(result.notes.map((note) => note.code)).toEqual(["unsound-night", "gain-learned", "gain-learned"]);
    expect(result.gains.find((gain) => gain.axis === "altitude" && gain.by === "jacks")!.value).toBeCloseTo(
      1,
      2,
    );
    expect(() => learnRounds(mount, [lost])).toThrow(/No night can be trusted/);
    expect(() => learnRounds(mount, [])).toThrow(/There is no night yet/);
  });
});

test("from fits and a file of turns", () => {
  const base = exampleBase({ jacks: fourJacks() });
  const mount = exampleMount(45, base);
  const fitAt = (altitude: number, meanTimeMs: number): MountFit =>
    ({
      mount,
      pole: known({ altitude, east: 0 }),
      sound: true,
      meanTimeMs,
      notes: [],
      terms: [],
      residuals: [],
      covariance: [],
      sightings: { read: 24, used: 24, setAside: 0 },
    }) as unknown as MountFit;
  const turned = parseTurned(
    "round,adjuster,turns,direction\n1,north-east,4,clockwise\n1,north-west,4,clockwise\n",
    base,
  );
  const result = rounds([fitAt(-17, 0), fitAt(-4, 86_400_000)], turned);
  expect(result.rounds).toHaveLength(2);
  expect(result.gains.find((gain) => gain.by === "jacks")!.value).toBeCloseTo(0.76, 1);
  expect(() => rounds([fitAt(-17, 0)], [{ ...turned[0]!, round: 2 }])).toThrow(
    "Turns are given for round 2, but there is 1 night. Allowed: rounds 1 to 1, each after its night.",
  );
  expect(gainOf(gainsBefore, { axis: "east", by: "bolts" })).toEqual(gainBefore);
});
