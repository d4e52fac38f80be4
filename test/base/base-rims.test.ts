/** The rims of what is said at the base: each by hand from the figures given (elementary geometry and statistics, no source). */
import { describe, expect, it } from "vitest";
import { endOf } from "../../src/base/adjusters/adjuster.js";
import { adjustersOf, waysOf } from "../../src/base/adjusters/adjusters.js";
import { goodEnoughWithin } from "../../src/base/another-round.js";
import { isInside } from "../../src/base/correction.js";
import { learnRounds, type RoundGiven } from "../../src/base/rounds.js";
import { levelOfRound, parseTurned } from "../../src/base/turned-file.js";
import { turnsOfAdvice } from "../../src/base/turns-made.js";
import {
  advise,
  exampleBase,
  exampleMount,
  fourJacks,
  jack,
  lowBearing,
  southBolts,
} from "./example-base.js";

const pole = (altitude: number, east: number, covariance = 0) => ({
  altitude: { value: altitude, uncertainty: 1 },
  east: { value: east, uncertainty: 2 },
  covariance,
});

describe("near enough to the pole", () => {
  const mount = exampleMount(45, exampleBase());
  it("is three times the uncertainty along the correction: covariances count with their sign", () => {
    // Along (3, 4)/5: 0.36 · 1 + 0.64 · 4 + 2 · 0.48 · covariance.
    expect(goodEnoughWithin(mount, pole(3, 4))).toBeCloseTo(3 * Math.sqrt(2.92), 10);
    expect(goodEnoughWithin(mount, pole(3, 4, 0.5))).toBeCloseTo(3 * Math.sqrt(3.4), 10);
    expect(goodEnoughWithin(mount, pole(3, 4, -0.5))).toBeCloseTo(3 * Math.sqrt(2.44), 10);
    expect(goodEnoughWithin(mount, pole(-3, 4, 0.5))).toBeCloseTo(3 * Math.sqrt(2.44), 10);
  });
  it("is farther where a camera shows nothing of a better axis", () => {
    const camera = { focalLengthMm: 200, pixelUm: 9, widthPixels: 1000, heightPixels: 800, rotationDeg: 0 };
    const near = pole(0, 0);
    const sure = {
      ...near,
      altitude: { value: 0, uncertainty: 0.01 },
      east: { value: 0, uncertainty: 0.01 },
    };
    const without = goodEnoughWithin(mount, sure)!;
    const withCamera = goodEnoughWithin({ ...mount, camera: { ...mount.camera, ...camera } as never }, sure)!;
    expect(without).toBeCloseTo(0.03, 10);
    // 9 µm at 200 mm are 9.28″. A sixth of two pixels of smear in 60 s of 15.041″: 3.43 mrad, 11.8′.
    expect(withCamera).toBeCloseTo(11.76, 1);
  });
});

describe("adjusters", () => {
  it("are those that the base has", () => {
    const names = (base: ReturnType<typeof exampleBase>) => waysOf(adjustersOf(base, 45)).map(({ by }) => by);
    expect(names(exampleBase())).not.toContain("bolts");
    expect(names(exampleBase({ azimuthBolts: southBolts }))).toContain("bolts");
    expect(names(exampleBase())).not.toContain("lowerBearing");
    expect(names(exampleBase({ lowerBearing: lowBearing }))).toContain("lowerBearing");
  });
  it("stand at their end of the base, wherever the base lies about its origin", () => {
    const base = exampleBase({ jacks: [jack("a", 100, -200), jack("b", 500, 1000), jack("c", 300, 0)] });
    expect(endOf(base, "north")).toEqual({ eastMm: 300, northMm: 1000 });
    expect(endOf(base, "south")).toEqual({ eastMm: 300, northMm: -200 });
    expect(endOf(base, "south", 0.5)).toEqual({ eastMm: 300, northMm: 100 });
    const bare = exampleBase({ jacks: [] });
    expect(endOf(bare, "north", 0.5).northMm).toBeCloseTo(100, 10);
    expect(endOf(bare, "south", 0.5).northMm).toBeCloseTo(-100, 10);
  });
  it("move as far as their travel goes, each way, and no farther", () => {
    const [way] = waysOf(adjustersOf(exampleBase({ lowerBearing: lowBearing }), 45), "altitude").filter(
      ({ by }) => by === "lowerBearing",
    );
    const [forth, back] = way!.leftMm;
    const perMm = 1 / way!.mmPerUnit;
    for (const [mm, inside] of [
      [forth, true],
      [forth + 0.01, false],
      [-back, true],
      [-back - 0.01, false],
    ] as const) {
      expect(isInside(way, mm * perMm)).toBe(inside);
    }
    expect(isInside(undefined, 1e9)).toBe(true);
  });
});

describe("the file of turns", () => {
  it("holds the level of its own round only, on whichever line it stands", () => {
    const rows = parseTurned(
      "round,adjuster,turns,direction,levelNorth,levelEast\n1,north-east,1,clockwise,,\n1,north-west,1,clockwise,0.5,-0.2\n2,north-east,1,clockwise,,\n",
      exampleBase(),
    );
    expect(levelOfRound(rows, 1)).toMatchObject({ north: 0.5, east: -0.2 });
    expect(levelOfRound(rows, 2)).toBeNull();
  });
});

describe("the story of the rounds", () => {
  const mount = exampleMount(45, exampleBase({ azimuthBolts: southBolts, jacks: fourJacks() }));
  const night = (altitude: number, east: number, more: Partial<RoundGiven> = {}): RoundGiven => ({
    pole: {
      altitude: { value: altitude, uncertainty: 0.4 },
      east: { value: east, uncertainty: 0.4 },
      covariance: 0,
    },
    sound: true,
    meanTimeMs: 0,
    turnsMade: [],
    level: null,
    shared: [],
    ...more,
  });
  it.each([
    [20, 12, "down", "west"],
    [-20, -12, "up", "east"],
  ] as const)("from %d′, %d′ asks %s and %s", (altitude, east, upright, sideways) => {
    const turnsMade = turnsOfAdvice(advise(45, mount.base!, { altitude, east }));
    const { reasons: story } = learnRounds(mount, [night(altitude, east, { turnsMade }), night(0.3, 0.2)]);
    expect(story.join(" ")).toMatch(
      new RegExp(
        `asked for [\\d.]+′ ${upright} and [\\d.]+′ ${sideways}, found [\\d.]+′ ${upright} and [\\d.]+′ ${sideways}`,
      ),
    );
  });
});
