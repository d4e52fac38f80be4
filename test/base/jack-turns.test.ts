import { describe, expect, test } from "vitest";
import { refractedPole } from "../../src/base/aim.js";
import { moveAxis, stillBase } from "../../src/base/axis-motion.js";
import { weigh } from "../../src/base/choose-means.js";
import { isSolved, realTurns, settingOf, wayBy } from "../../src/base/correction.js";
import { gainsBefore } from "../../src/base/gains.js";
import { adviseTurns, jackTurns } from "../../src/base/jack-turns.js";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import { applyTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import type { Base } from "../../src/mount/mount.js";
import { seededRandom } from "../../src/simulate/random.js";
import {
  advise,
  exampleBase,
  exampleMount,
  fourJacks,
  jack,
  lowBearing,
  type PoleGiven,
  sixJacks,
  southBolts,
  threeJacks,
} from "./example-base.js";

/** `after` and the exact forward must be the same calculation, arcminutes. */
const SAME_ARCMIN = 1e-9;
/** Half the diagonal of the lattice of 1/8 turns of 2 mm on a 1.2 × 1.6 m base is 0.45′ / 2 in each axis; plus indifference. */
const ROUNDING_ARCMIN = 0.6;

function forward(latitude: number, base: Base, advice: TurnAdvice, pole: PoleGiven) {
  return applyTurns(base, advice, { latitude }, pole);
}

/** Everything that must hold of any advice. */
function expectSound(latitude: number, base: Base, advice: TurnAdvice, pole: PoleGiven): void {
  const there = forward(latitude, base, advice, pole);
  expect(Math.abs(there.altitude - advice.after.altitude)).toBeLessThan(SAME_ARCMIN);
  expect(Math.abs(there.east - advice.after.east)).toBeLessThan(SAME_ARCMIN);
  expect(Math.abs(there.hourAngleZero - advice.hourAngleZeroShift)).toBeLessThan(SAME_ARCMIN);
  expect(advice.jacks.map((one) => one.name)).toEqual(base.jacks.map((one) => one.name));
  advice.jacks.forEach((turn, index) => {
    const own = base.jacks[index]!;
    expect(turn.turns).toBeGreaterThanOrEqual(0);
    expect(Math.abs(turn.riseMm)).toBeCloseTo(turn.turns * own.pitchMm, 9);
    expect(turn.riseMm).toBeLessThanOrEqual(own.raiseLeftMm + 1e-9);
    expect(turn.riseMm).toBeGreaterThanOrEqual(-own.lowerLeftMm - 1e-9);
    expect(turn.direction).toBe(
      turn.riseMm === 0
        ? "none"
        : turn.riseMm > 0 === (own.clockwise === "raises")
          ? "clockwise"
          : "anticlockwise",
    );
    expect((turn.turns / own.smallestTurn) % 1).toBeCloseTo(0, 9);
  });
  expect(advice.warpMm).toBeLessThanOrEqual(base.warpLimitMm + 1e-6);
  // Steps sum to the totals, adjuster by adjuster.
  for (const made of turnsOfAdvice(advice)) {
    const same = advice.steps.filter(
      (step) => step.adjuster === made.adjuster && step.direction === made.direction,
    );
    const turned = same.reduce((sum, step) => sum + step.turns, 0);
    expect(turned).toBeCloseTo(made.turns, 9);
  }
  if (advice.recommended) {
    expect(turnsOfAdvice(advice).length).toBeGreaterThan(0);
    expect(advice.cautions.length).toBeGreaterThan(5);
  }
  expect(JSON.parse(JSON.stringify(advice))).toEqual(advice);
}

const bases: readonly (readonly [string, Base])[] = [
  ["four jacks", exampleBase()],
  ["three jacks", exampleBase({ jacks: threeJacks() })],
  ["six jacks", exampleBase({ jacks: sixJacks() })],
  ["four left-handed jacks", exampleBase({ jacks: fourJacks({ clockwise: "lowers" }) })],
  ["four jacks and bolts at the south", exampleBase({ azimuthBolts: southBolts })],
  ["four jacks and bolts at the north", exampleBase({ azimuthBolts: { ...southBolts, end: "north" } })],
  ["four jacks and a lower bearing", exampleBase({ lowerBearing: lowBearing })],
  [
    "jacks of different threads",
    exampleBase({
      jacks: [
        jack("a", 500, 700, { pitchMm: 1.75 }),
        jack("b", -650, 820, { clockwise: "lowers" }),
        jack("c", -400, -900, { pitchMm: 3, smallestTurn: 0.0625 }),
        jack("d", 620, -760),
      ],
      warpLimitMm: 0.5,
    }),
  ],
];

describe("the axis comes to the pole, by the exact forward", () => {
  for (const [name, base] of bases) {
    for (const latitude of [-52.3, -30, 30, 51.5]) {
      test(`${name}, latitude ${latitude}`, () => {
        for (const [altitude, east] of [
          [14.18, -19.2],
          [-9, 12],
          [21, 0],
          [0, -15],
          [-30, -8],
        ] as const) {
          const pole = { altitude, east };
          const advice = advise(latitude, base, pole);
          expect(advice.recommended).toBe(true);
          expectSound(latitude, base, advice, pole);
          expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
        }
      });
    }
  }
});

describe("the signs, case by case, on both hemispheres", () => {
  test.each([
    // North of the equator the north end is the elevated one: raising the north side raises the axis.
    [45, -10, "north"],
    [45, 10, "south"],
    [-30, -10, "south"],
    [-30, 10, "north"],
  ] as const)("latitude %f, axis %f′ off in altitude: the %s side rises", (latitude, altitude, side) => {
    const advice = advise(latitude, exampleBase(), { altitude, east: 0 });
    for (const turn of advice.jacks) {
      if (turn.name.startsWith(side)) expect(turn.riseMm).toBeGreaterThan(1);
      else expect(Math.abs(turn.riseMm)).toBeLessThan(0.6);
    }
  });

  test.each([
    [45, -10, "west"],
    [45, 10, "east"],
    [-30, -10, "west"],
    [-30, 10, "east"],
  ] as const)(
    "latitude %f, axis %f′ east: the %s side rises (east += −α |sin φ|)",
    (latitude, east, side) => {
      const advice = advise(latitude, exampleBase(), { altitude: 0, east });
      for (const turn of advice.jacks) {
        if (turn.name.endsWith(side)) expect(turn.riseMm).toBeGreaterThan(1);
        else expect(Math.abs(turn.riseMm)).toBeLessThan(0.6);
      }
    },
  );

  test.each([
    // Too far west in the north: the base turns clockwise from above: its north end goes east, its south end west.
    [45, -10, "south", "west"],
    [45, -10, "north", "east"],
    // In the south the elevated end is the south one: it must go east.
    [-30, -10, "south", "east"],
    [-30, -10, "north", "west"],
  ] as const)(
    "latitude %f, axis %f′ east, bolts at the %s end: it moves %s",
    (latitude, east, end, direction) => {
      const base = exampleBase({ azimuthBolts: { ...southBolts, end } });
      const advice = advise(latitude, base, { altitude: 0, east });
      expect(advice.azimuthBolts).toMatchObject({ end, direction });
      // Shift = lever · east / cos latitude (small angles), to half a smallest turn.
      const shift = (1500 * ((10 / 60) * Math.PI)) / 180 / Math.cos((latitude * Math.PI) / 180);
      expect(Math.abs(advice.azimuthBolts!.shiftMm - shift)).toBeLessThan(1.5 / 8);
      expect(advice.jacks.every((turn) => turn.turns === 0)).toBe(true);
    },
  );
});

test("bolts at the south end moved east turn the base anticlockwise from above: in the north the axis goes west", () => {
  const base = exampleBase({ azimuthBolts: southBolts });
  const made = [{ adjuster: "azimuth bolts", turns: 1, direction: "east", mm: null }] as const;
  expect(applyTurns(base, made, { latitude: 45 }).east).toBeLessThan(-1);
  expect(applyTurns(base, made, { latitude: -45 }).east).toBeGreaterThan(1);
});

describe("large errors", () => {
  /** A jack with travel for five degrees on a 1.6 m base. */
  const tall = exampleBase({ jacks: fourJacks({ raiseLeftMm: 400, lowerLeftMm: 100 }), tiltLimitDeg: 30 });
  for (const latitude of [-30, 51.5]) {
    test(`five degrees in altitude and two in azimuth, latitude ${latitude}: the exact rotation is nulled`, () => {
      const pole = { altitude: 300, east: -120 };
      const advice = advise(latitude, tall, pole);
      expectSound(latitude, tall, advice, pole);
      expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
      // The first order alone would have missed by minutes of arc.
      const there = forward(latitude, tall, advice, pole);
      expect(Math.hypot(300 + there.firstOrder.altitude, -120 + there.firstOrder.east)).toBeGreaterThan(2);
    });
  }

  test("beyond the jacks' travel it does what it can and says what to do for the rest", () => {
    const advice = advise(51.5, exampleBase(), { altitude: -120, east: 0.1 });
    expectSound(51.5, exampleBase(), advice, { altitude: -120, east: 0.1 });
    expect(advice.recommended).toBe(true);
    expect(advice.after.altitude).toBeLessThan(-20);
    expect(advice.after.altitude).toBeGreaterThan(-120);
    expect(Math.max(...advice.jacks.map((turn) => turn.riseMm))).toBeCloseTo(30, 0);
    expect(advice.reasons.join(" ")).toMatch(
      /reach only \d+ % of the way; .* stays\. For the rest pack the feet of the north side/,
    );
  });

  test("azimuth beyond the travel of a tilt: slide the base, how far and which end", () => {
    const pole = { altitude: 0, east: 60 };
    const advice = advise(-12, exampleBase(), pole);
    expectSound(-12, exampleBase(), advice, pole);
    expect(advice.slide).toMatchObject({ end: "north", direction: "east" });
    const shift = (1600 * Math.PI) / 180 / Math.cos((12 * Math.PI) / 180);
    expect(advice.slide!.shiftMm).toBeCloseTo(shift, 0);
    expect(Math.abs(advice.after.east)).toBeLessThan(0.2);
    expect(advice.reasons.join(" ")).toMatch(
      /Not by tilting the base east–west with the jacks: a tilt of 4° 4[78]\.\d′/,
    );
  });
});

describe("which adjuster", () => {
  const all = exampleBase({ azimuthBolts: southBolts, lowerBearing: lowBearing });
  const pole = { altitude: 14.18, east: -19.2 };
  test.each(["bolts", "tilt", "lowerBearing", "slide"] as const)(
    "azimuth by %s when asked for",
    (azimuthBy) => {
      const advice = advise(-30, all, pole, { azimuthBy });
      expectSound(-30, all, advice, pole);
      expect(advice.azimuthBolts !== null).toBe(azimuthBy === "bolts");
      expect(advice.lowerBearing !== null).toBe(azimuthBy === "lowerBearing");
      expect(advice.slide !== null).toBe(azimuthBy === "slide");
      expect(advice.choices.filter((choice) => choice.chosen).map((choice) => choice.by)).toEqual([
        "jacks",
        azimuthBy,
      ]);
      expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
    },
  );
  test("altitude by the lower bearing when asked for", () => {
    const advice = advise(-30, all, pole, { altitudeBy: "lowerBearing" });
    expectSound(-30, all, advice, pole);
    // Too high: the low end must go up by L · error / cos latitude.
    const up = (1200 * ((14.18 / 60) * Math.PI)) / 180 / Math.cos((30 * Math.PI) / 180);
    expect(Math.abs(advice.lowerBearing!.upMm - up)).toBeLessThan(0.125);
    expect(advice.jacks.every((turn) => turn.turns === 0)).toBe(true);
  });
  test("bolts come before the lower bearing, that before tilt, and each choice says its numbers", () => {
    expect(advise(-30, all, pole).azimuthBolts).not.toBeNull();
    expect(advise(-30, exampleBase({ lowerBearing: lowBearing }), pole).lowerBearing).not.toBeNull();
    const tilt = advise(-30, exampleBase(), pole).choices.find((choice) => choice.by === "tilt")!;
    expect(tilt.chosen).toBe(true);
    // 19.2 / sin 30° = 38.4′; the zero shift is that times cos φ.
    expect(tilt.tiltArcmin).toBeCloseTo(38.4, 0);
    expect(tilt.hourAngleZeroShift).toBeCloseTo(38.4 * Math.cos((30 * Math.PI) / 180), 0);
  });
  test("bolts that do not reach are passed over", () => {
    const short = exampleBase({ azimuthBolts: { ...southBolts, travelMm: 3 } });
    const advice = advise(-30, short, pole);
    expect(advice.azimuthBolts).toBeNull();
    expect(advice.reasons.join(" ")).toMatch(
      /Not by the azimuth bolts: .* more than the 3\.00 mm left that way/,
    );
    const forced = advise(-30, short, pole, { azimuthBy: "bolts" });
    expect(forced.azimuthBolts!.shiftMm).toBe(3);
    expect(forced.reasons.join(" ")).toMatch(/reach only 3\d % of the way/);
  });
  test("near the pole the bolts are of no use and the tilt serves", () => {
    const advice = advise(-89.9, exampleBase({ azimuthBolts: southBolts }), { altitude: 5, east: 8 });
    expect(advice.azimuthBolts).toBeNull();
    expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
  });
  test("at the equator the tilt is of no use and sliding serves", () => {
    const advice = advise(0, exampleBase(), { altitude: 5, east: 8 });
    expect(advice.slide).not.toBeNull();
    expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
  });
  test("a motion that stops short of the pole, or goes round and round, is none", () => {
    const from = { altitude: -520, east: 240 };
    // Nothing within ten degrees takes a base out of level by more than a radian.
    for (const choice of advise(-9.5, exampleBase(), from).choices) {
      expect(choice.tiltArcmin).toBeLessThan(60 * 60);
    }
    const setting = settingOf(exampleBase(), -9.5, gainsBefore, from);
    // With the jacks Newton's method does end at the pole here, after the base has gone round almost twice.
    const [jacks, tilt] = [wayBy(setting, "altitude", "jacks")!, wayBy(setting, "east", "tilt")!];
    const both = { altitude: { way: jacks, to: 0 }, east: { way: tilt, to: 0 } };
    expect(isSolved(realTurns(setting, both))).toBe(false);
    expect(weigh(setting, tilt, both).because).toBe("no, for no motion of it takes the axis there");
    expect(isSolved({ up: 0.1, over: 0.1, leftArcmin: 5 })).toBe(false);
    expect(isSolved({ up: Number.NaN, over: 0.1, leftArcmin: Number.NaN })).toBe(false);
  });
  test("what the mount does not have cannot be asked for", () => {
    expect(() => advise(-30, exampleBase(), pole, { azimuthBy: "bolts" })).toThrow(
      '"bolts" cannot be used: the mount file\'s base has none.',
    );
    // @ts-expect-error a value that is not allowed
    expect(() => advise(-30, exampleBase(), pole, { azimuthBy: "hammer" })).toThrow(
      'Option azimuthBy cannot be "hammer". Allowed: auto, bolts, lowerBearing, tilt, slide.',
    );
  });
});

describe("the free mean height", () => {
  test("raises rather than lowers while the travel lasts", () => {
    const advice = advise(-30, exampleBase(), { altitude: 14.18, east: -10 });
    expect(Math.min(...advice.jacks.map((turn) => turn.riseMm))).toBe(0);
  });
  test("lowers what cannot be raised", () => {
    const low = exampleBase({ jacks: fourJacks({ raiseLeftMm: 4, lowerLeftMm: 20 }) });
    const pole = { altitude: 14.18, east: 0.1 };
    const advice = advise(-30, low, pole);
    expectSound(-30, low, advice, pole);
    expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
    expect(Math.min(...advice.jacks.map((turn) => turn.riseMm))).toBeLessThan(-1);
    expect(advice.cautions.join(" ")).toContain("lowered");
  });
});

describe("when to stop", () => {
  test("an error smaller than its own uncertainty is left alone", () => {
    const advice = advise(-30, exampleBase(), { altitude: 0.3, east: -0.2 });
    expect(advice).toMatchObject({ recommended: false, steps: [], after: { altitude: 0.3, east: -0.2 } });
    expect(advice.jacks.map((turn) => turn.turns)).toEqual([0, 0, 0, 0]);
    expect(advice.verdict).toBe("stop");
    expect(advice.reasons[0]).toMatch(
      /^Stop here: the axis is 0\.4′ from the pole, and that is known to ± 0\.4′/,
    );
  });
  test("an error smaller than half a smallest turn is left alone", () => {
    const coarse = exampleBase({ jacks: fourJacks({ smallestTurn: 1 }), warpLimitMm: 3 });
    const advice = advise(-30, coarse, { altitude: 1.9, east: 0.1, altitudeUncertainty: 0.1 });
    expect(advice.recommended).toBe(false);
    expect(advice.reasons.join(" ")).toContain("less than half of what one smallest turn does (4.3′)");
  });
  test("one axis is turned and the other left alone", () => {
    const base = exampleBase({ azimuthBolts: southBolts });
    const advice = advise(-30, base, { altitude: 12, east: 0.2 });
    expect(advice.recommended).toBe(true);
    expect(advice.azimuthBolts).toBeNull();
    expect(advice.reasons.join(" ")).toContain("East–west: left alone");
  });
  test("an unsound fit or an unknown error gives no turns", () => {
    const mount = exampleMount(-30, exampleBase());
    const pole = {
      altitude: { value: 14, uncertainty: 0.4 },
      east: { value: -19, uncertainty: 0.3 },
      covariance: 0,
    };
    const unsound = adviseTurns({
      mount,
      pole,
      sound: false,
      troubles: ["The encoder counts the other way."],
    });
    expect(unsound).toMatchObject({
      recommended: false,
      after: { altitude: 14, east: -19 },
      steps: [],
      cautions: [],
    });
    expect(unsound.reasons).toContain("The encoder counts the other way.");
    const unknown = adviseTurns({
      mount,
      pole: { ...pole, east: { value: 3, uncertainty: Number.POSITIVE_INFINITY } },
      sound: true,
      troubles: [],
    });
    expect(unknown.recommended).toBe(false);
    expect(unknown.jacks.every((turn) => turn.turns === 0 && turn.direction === "none")).toBe(true);
  });
  test("jacks without any travel left: nothing reaches, and that is said instead of praise", () => {
    const spent = exampleBase({ jacks: fourJacks({ raiseLeftMm: 0, lowerLeftMm: 0 }) });
    const advice = advise(45, spent, { altitude: -20, east: 0.1 });
    expect(advice.recommended).toBe(false);
    expect(advice.reasons[0]).toContain("nothing on the base reaches far enough");
    expect(advice.reasons.join(" ")).toContain(
      "the jacks reach only 0 % of the way; 20.0′ stays. For the rest pack the feet of the north side by about 9.31 mm",
    );
  });
  test("a base of a lower bearing alone is adjusted by it", () => {
    const base = exampleBase({ jacks: [], lowerBearing: lowBearing });
    const advice = advise(-30, base, { altitude: 14, east: -9 });
    expectSound(-30, base, advice, { altitude: 14, east: -9 });
    expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThan(ROUNDING_ARCMIN);
  });
  test("a mount without a base is refused with what to add", () => {
    const fit = {
      mount: exampleMount(-30, null),
      sound: true,
      notes: [],
      sightings: { read: 24, used: 24, setAside: 0 },
      pole: {},
    } as unknown as MountFit;
    expect(() => jackTurns(fit)).toThrow(/has no base, so there is nothing to turn\. Add "base"/);
  });
});

describe("uncertainty of the turns", () => {
  test("follows from the pole's covariance: by simulation of the pole", () => {
    const random = seededRandom(7);
    const gaussian = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
    // Tiny steps, so that rounding does not matter, and room to lower, so that the mean height is free.
    const fine = exampleBase({ jacks: fourJacks({ smallestTurn: 1e-4 }) });
    const [sa, se, rho] = [0.8, 0.6, 0.5];
    const pole = {
      altitude: 15,
      east: -10,
      altitudeUncertainty: sa,
      eastUncertainty: se,
      covariance: rho * sa * se,
    };
    const stated = advise(-30, fine, pole).jacks.map((turn) => turn.uncertaintyTurns);
    const trials = 800;
    const squares = [0, 0, 0, 0];
    const meanOf = (advice: TurnAdvice): number =>
      advice.jacks.reduce((sum, turn) => sum + turn.riseMm, 0) / 4;
    const middle = advise(-30, fine, pole);
    for (let trial = 0; trial < trials; trial++) {
      const [u, v] = [gaussian(), gaussian()];
      const one = advise(-30, fine, {
        ...pole,
        altitude: pole.altitude + sa * u,
        east: pole.east + se * (rho * u + Math.sqrt(1 - rho * rho) * v),
      });
      one.jacks.forEach((turn, index) => {
        const off = turn.riseMm - meanOf(one) - (middle.jacks[index]!.riseMm - meanOf(middle));
        squares[index]! += (off / 2) ** 2;
      });
    }
    // 800 trials know a standard deviation to 2.5 %: four of those.
    stated.forEach((uncertainty, index) => {
      expect(Math.sqrt(squares[index]! / trials) / uncertainty).toBeGreaterThan(0.9);
      expect(Math.sqrt(squares[index]! / trials) / uncertainty).toBeLessThan(1.1);
    });
  });
  test("soft ground makes a rise less sure, and says so", () => {
    const soft = exampleBase({ jacks: fourJacks({ softGround: true }) });
    const firm = advise(-30, exampleBase(), { altitude: 14, east: -19 });
    const yielding = advise(-30, soft, { altitude: 14, east: -19 });
    expect(yielding.jacks[1]!.uncertaintyTurns).toBeGreaterThan(2 * firm.jacks[1]!.uncertaintyTurns);
    expect(yielding.cautions.join(" ")).toContain("Soft ground under north-east");
  });
});

describe("which pole", () => {
  test("the refracted pole is above the true one, by what the almanac has for its altitude", () => {
    // Nautical Almanac star refraction (from memory, to 0.1′, standard air): apparent altitude 30° 1.7′, 45° 1.0′, 60° 0.6′.
    const at = (latitude: number) =>
      refractedPole({ ...exampleMount(latitude, null).site, pressureHPa: 1010, temperatureC: 10 });
    expect(at(-30)).toBeCloseTo(1.7, 1);
    expect(at(45)).toBeCloseTo(1.0, 1);
    expect(at(60)).toBeCloseTo(0.6, 1);
  });
  test("aiming at it leaves the axis high by as much, and says why", () => {
    const pole = { altitude: 14.18, east: -19.2 };
    const base = exampleBase();
    const advice = advise(-12, base, { altitude: 14.18, east: 5 }, { aim: "refracted" });
    expect(advice.aim.altitude).toBeGreaterThan(3.5);
    expect(Math.abs(advice.after.altitude - advice.aim.altitude)).toBeLessThan(ROUNDING_ARCMIN);
    expect(advice.reasons[1]).toContain("Aimed at the refracted pole, 3.9′ above the true pole here");
    expect(advise(-30, base, pole).aim).toEqual({ at: "true", altitude: 0 });
    expect(advise(-30, base, pole).reasons[1]).toContain("The refracted pole is 1.5′ higher here");
  });
});

test("learned gains change the turns: a floor that gives a quarter asks for a third more", () => {
  const gains = {
    altitude: { jacks: { value: 0.75, uncertainty: 0.01 }, lowerBearing: { value: 1, uncertainty: 0.2 } },
    east: {
      bolts: { value: 1, uncertainty: 0.2 },
      tilt: { value: 1, uncertainty: 0.2 },
      lowerBearing: { value: 1, uncertainty: 0.2 },
      slide: { value: 1, uncertainty: 0.2 },
    },
  };
  const plain = advise(45, exampleBase(), { altitude: -20, east: 0 });
  const learned = advise(45, exampleBase(), { altitude: -20, east: 0 }, { gains });
  expect(learned.jacks[0]!.riseMm / plain.jacks[0]!.riseMm).toBeCloseTo(4 / 3, 1);
  expect(learned.afterUncertainty.altitude).toBeLessThan(plain.afterUncertainty.altitude);
  expect(Math.abs(learned.after.altitude)).toBeLessThan(ROUNDING_ARCMIN);
});

test("the level check tells what the bubble should show", () => {
  const advice = advise(45, exampleBase(), { altitude: -20, east: 0 });
  const rise = advice.jacks[0]!.riseMm;
  const last = advice.steps.filter((step) => step.adjuster === "level").at(-1)!;
  expect(last.level!.northUpMmPerM).toBeCloseTo(rise / 1.6, 1);
  expect(last.level!.northUpArcmin).toBeCloseTo((last.level!.northUpMmPerM / 1000 / Math.PI) * 180 * 60, 6);
  expect(last.text).toContain("the north side up by 19.9′ (5.78 mm per metre)");
  const half = advice.steps.filter((step) => step.text.startsWith("Half-way"));
  expect(half).toHaveLength(1);
  expect(half[0]!.level!.northUpMmPerM).toBeGreaterThan(0.4 * last.level!.northUpMmPerM);
  expect(half[0]!.level!.northUpMmPerM).toBeLessThan(0.65 * last.level!.northUpMmPerM);
});

test("random poles, bases and latitudes: whatever is advised holds together and is no worse than leaving be", () => {
  const random = seededRandom(20260314);
  const between = (low: number, high: number): number => low + (high - low) * random();
  for (let trial = 0; trial < 250; trial++) {
    const latitude = between(3, 80) * (random() < 0.5 ? -1 : 1);
    const [, base] = bases[Math.floor(random() * bases.length)]!;
    const pole = { altitude: between(-60, 60), east: between(-60, 60) };
    const advice = advise(latitude, base, pole);
    expectSound(latitude, base, advice, pole);
    expect(Math.hypot(advice.after.altitude, advice.after.east)).toBeLessThanOrEqual(
      Math.hypot(pole.altitude, pole.east),
    );
  }
});

test("moveAxis leaves a still base where it is", () => {
  const place = moveAxis({ altitude: 12, east: -7 }, stillBase, -30);
  expect(place.altitude).toBeCloseTo(12, 9);
  expect(place.east).toBeCloseTo(-7, 9);
  expect(place.hourAngleZero).toBeCloseTo(0, 9);
});
