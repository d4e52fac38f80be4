/**
 * Which screw did not do what it should: on bases of uneven figures, each screw in turn, by exact rotations of what it really
 * did. The rims of a level that differs are worked by hand.
 */
import { describe, expect, it } from "vitest";
import type { TurnMade } from "../../src/base/adjusters/adjuster.js";
import { moveAxis } from "../../src/base/axis-motion.js";
import { gainsBefore } from "../../src/base/gains.js";
import { jackFrame } from "../../src/base/jack-frame.js";
import { explainChange, levelNote } from "../../src/base/round-troubles.js";
import { effectOfTurns } from "../../src/base/turns-made.js";
import { seededRandom } from "../../src/simulate/random.js";
import { exampleBase, jack, southBolts } from "./example-base.js";

const base = exampleBase({
  jacks: [
    jack("north-east", 640, 830),
    jack("north-west", -560, 700),
    jack("west", -810, -130),
    jack("south", -90, -900),
    jack("east", 720, -310, { clockwise: "lowers" }),
  ],
  azimuthBolts: southBolts,
});
const turns: readonly TurnMade[] = [
  { adjuster: "north-east", turns: 3, direction: "clockwise", mm: null },
  { adjuster: "north-west", turns: 2.5, direction: "anticlockwise", mm: null },
  { adjuster: "west", turns: 2, direction: "clockwise", mm: null },
  { adjuster: "south", turns: 3.5, direction: "anticlockwise", mm: null },
  { adjuster: "east", turns: 2, direction: "clockwise", mm: null },
  { adjuster: "azimuth bolts", turns: 4, direction: "west", mm: null },
];
const from = { altitude: 12, east: -7 };

/** The axis found where these turns take it, though the others were written down. */
function told(really: readonly TurnMade[], latitude: number, written = turns, sigma = 0.05) {
  const effect = effectOfTurns(base, written, latitude);
  const expected = moveAxis(from, effect.whole, latitude);
  const found = moveAxis(from, effectOfTurns(base, really, latitude).whole, latitude);
  return explainChange({
    base,
    latitudeDeg: latitude,
    turns: written,
    effect,
    gains: gainsBefore,
    from,
    surprise: [found.altitude - expected.altitude, found.east - expected.east],
    covariance: [
      [sigma ** 2, 0.3 * sigma ** 2],
      [0.3 * sigma ** 2, sigma ** 2],
    ],
    round: 4,
  });
}
const other = { clockwise: "anticlockwise", anticlockwise: "clockwise", east: "west", west: "east" } as const;

describe.each([-47, 31])("at latitude %i", (latitude) => {
  it.each(turns.map(({ adjuster }) => adjuster))("%s alone stayed, or went the other way", (name) => {
    for (const part of [0, -1] as const) {
      const really = turns.map((turn): TurnMade => {
        if (turn.adjuster !== name) return turn;
        if (part === 0) return { ...turn, turns: 0 };
        return { ...turn, direction: other[turn.direction as keyof typeof other] };
      });
      const note = told(really, latitude);
      expect(note.code).toBe(part === 0 ? "jack-did-not-follow" : "turned-the-wrong-way");
      expect(note.round).toBe(4);
      // It lies on its own line exactly; another that comes near is named after it.
      expect(note.adjusters[0]).toBe(name);
      const asked = effectOfTurns(base, turns, latitude).screws.find((screw) => screw.name === name)!.askedMm;
      const [went, should] = [...note.message.matchAll(/([+−])([\d.]+) mm/g)].map(
        ([, sign, size]) => (sign === "−" ? -1 : 1) * Number(size),
      );
      expect(should! / asked).toBeCloseTo(1, 1);
      // An ordinary gain of a tenth is allowed for besides.
      expect(Math.abs(went! - part * asked)).toBeLessThan(0.25 * Math.abs(asked));
      for (const another of note.adjusters.slice(1)) expect(note.message).toContain(another);
    }
  });

  it("nothing moved where all was written down and nothing turned; one screw alone is told by its name", () => {
    expect(told([], latitude).code).toBe("nothing-moved");
    expect(told([], latitude).adjusters).toEqual(turns.map(({ adjuster }) => adjuster));
    const single = told([], latitude, turns.slice(0, 1));
    expect(single).toMatchObject({ code: "jack-did-not-follow", adjusters: ["north-east"] });
  });

  it("what no screw of them could have done is explained by none", () => {
    const random = seededRandom(5);
    const three = turns.map((turn) => ({ ...turn, turns: turn.turns * (3.2 + 0.2 * random()) }));
    const note = told(three, latitude);
    expect(note).toMatchObject({ code: "unexplained-change", adjusters: [] });
    const effect = effectOfTurns(base, turns, latitude);
    const expected = moveAxis(from, effect.whole, latitude);
    const found = moveAxis(from, effectOfTurns(base, three, latitude).whole, latitude);
    expect(note.message).toContain(found.altitude < expected.altitude ? "lower" : "higher");
    expect(note.message).toContain(found.east < expected.east ? "further west" : "further east");
  });

  it("what was not turned is never suspected", () => {
    const written = turns.filter(({ adjuster }) => adjuster !== "south");
    // The screw left out of the file of turns: no other one explains it by having stayed.
    const note = told(turns, latitude, written);
    expect(note.adjusters).not.toContain("south");
  });
});

it("a slide that was not made is asked for as a slide; beside bolts, which turn the base alike, both are looked at", () => {
  const slide: TurnMade = { adjuster: "base", turns: 0, direction: "east", mm: 8 };
  const bolts: TurnMade = { adjuster: "azimuth bolts", turns: 5, direction: "east", mm: null };
  expect(told([], 40, [slide]).remedy).toContain("Was the base slid as written down");
  const both = told([bolts], 40, [slide, bolts]);
  expect(both.adjusters).toContain("base");
  expect(both.adjusters).toContain("azimuth bolts");
  expect(both.remedy).toContain("Look at that screw and its foot");
});

describe("a level that shows another tilt", () => {
  const effect = effectOfTurns(base, turns, 31);
  const plane = jackFrame(base.jacks)!.planeOf(effect.risesMm);
  const [north, east] = [1000 * plane.slopeNorth, 1000 * plane.slopeEast];
  // 0.15 mm a metre of reading, and 15 % of the tilt.
  const allowed = 3 * Math.hypot(0.15, 0.15 * Math.hypot(north, east));

  it("by less than three times what is allowed is none, by more it is told", () => {
    for (let degrees = 0; degrees < 360; degrees += 30) {
      const [u, v] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
      const at = (size: number) =>
        levelNote(base, effect, { north: north + size * u, east: east + size * v }, 2);
      expect(at(0.999 * allowed)).toBeNull();
      const note = at(1.001 * allowed)!;
      expect(note).toMatchObject({ code: "level-differs", round: 2 });
      const sign = (value: number): string => (value < 0 ? "−" : "+");
      expect(note.message).toContain(`north side ${sign(north + 1.001 * allowed * u)}`);
      expect(note.message).toContain(`the turns should have made ${sign(north)}`);
    }
  });

  it.each(base.jacks.map(({ name }) => name))("names %s where it stayed", (name) => {
    // This one was to be turned most of all, so that its part of the tilt is large beside what is allowed.
    const many = turns.map((turn) => ({ ...turn, turns: (turn.adjuster === name ? 40 : 10) * turn.turns }));
    const whole = effectOfTurns(base, many, 31);
    const without = effectOfTurns(
      base,
      many.filter(({ adjuster }) => adjuster !== name),
      31,
    );
    const seen = jackFrame(base.jacks)!.planeOf(without.risesMm);
    const note = levelNote(base, whole, { north: 1000 * seen.slopeNorth, east: 1000 * seen.slopeEast }, 1);
    expect(note!.adjusters).toContain(name);
    expect(note!.message).toContain(name);
  });

  it("is none on a base without jacks", () => {
    const bare = exampleBase({ jacks: [], azimuthBolts: southBolts });
    expect(levelNote(bare, effectOfTurns(bare, [], 31), { north: 5, east: 5 }, 1)).toBeNull();
  });
});
