import { describe, expect, test } from "vitest";
import { groupSteps } from "../../src/base/turn-steps.js";
import { parseTurned, turnedFileText, turnedRows, turnsOfRound } from "../../src/base/turned-file.js";
import { applyTurns, effectOfTurns, turnsOfAdvice } from "../../src/base/turns-made.js";
import { InputError } from "../../src/errors.js";
import { advise, exampleBase, lowBearing, southBolts } from "./example-base.js";

const base = exampleBase({ azimuthBolts: southBolts, lowerBearing: { ...lowBearing, upDownPitchMm: null } });

function faultsOf(text: string) {
  try {
    parseTurned(text, base, "turned.csv");
  } catch (error) {
    if (error instanceof InputError) return error.faults;
    throw error;
  }
  return [];
}

describe("the file of turns", () => {
  test("is read: fractions, any column order, comments, spaces and case", () => {
    const rows = parseTurned(
      [
        "# after the first night",
        "direction,adjuster,round,turns,mm,note",
        'Clockwise,North-East,1,1 1/8,,"stiff, then easy"',
        " anticlockwise , south west ,1, .25 ,,",
        "east,azimuth bolts,1,3/8,,",
        "",
        "down,lower bearing,2,,0.5,",
        "west,base,2,,4.5,",
        "none,north-west,2,0,,",
      ].join("\r\n"),
      base,
    );
    expect(
      rows.map(({ line, round, adjuster, turns, direction, mm }) => [
        line,
        round,
        adjuster,
        turns,
        direction,
        mm,
      ]),
    ).toEqual([
      [3, 1, "north-east", 1.125, "clockwise", null],
      [4, 1, "south-west", 0.25, "anticlockwise", null],
      [5, 1, "azimuth bolts", 0.375, "east", null],
      [7, 2, "lower bearing", 0, "down", 0.5],
      [8, 2, "base", 0, "west", 4.5],
      [9, 2, "north-west", 0, "clockwise", null],
    ]);
    expect(rows[0]!.note).toBe("stiff, then easy");
    expect(turnsOfRound(rows, 1)).toHaveLength(3);
  });

  test("all faults at once, each with its line, column, what was found and what is allowed", () => {
    const faults = faultsOf(
      [
        "round,adjuster,turns,direction,mm",
        "0,north-east,1,clockwise,",
        "1,north-est,1,clockwise,",
        "1,north-east,-1,clockwise,",
        "1,north-east,1,5,clockwise,x",
        "1,north-east,1,east,",
        "1,azimuth bolts,1,clockwise,",
        "1,lower bearing,1,up,",
        "1,base,1,east,",
        "1,north-west,,clockwise,",
        "1,north-west,1,clockwise,2",
      ].join("\n"),
    );
    expect(faults.map((fault) => [fault.line, fault.column, fault.code])).toEqual([
      [2, "round", "bad-round"],
      [3, "adjuster", "unknown-adjuster"],
      [4, "turns", "bad-amount"],
      [5, undefined, "wrong-field-count"],
      [6, "direction", "bad-direction"],
      [7, "direction", "bad-direction"],
      [8, "turns", "no-pitch"],
      [9, "turns", "base-has-no-screw"],
      [10, "turns", "missing-amount"],
      [11, "mm", "turns-and-mm"],
      [11, "direction", "bad-direction"],
    ]);
    expect(faults.every((fault) => fault.file === "turned.csv" && fault.allowed !== "")).toBe(true);
    expect(faults[1]!.message).toContain("Did you mean north-east?");
  });

  test("a header that cannot be used", () => {
    expect(faultsOf("").map((fault) => fault.code)).toEqual(["empty-file"]);
    expect(faultsOf("round,screw,turn\n").map((fault) => fault.code)).toEqual([
      "unknown-column",
      "unknown-column",
      "missing-column",
    ]);
    expect(faultsOf('round,adjuster,turns,direction\n1,"north-east,1,clockwise\n')[0]!.code).toBe(
      "unreadable-row",
    );
  });

  test("is written and read back unchanged", () => {
    const advice = advise(-30, base, { altitude: 14.18, east: -19.2 }, { azimuthBy: "bolts" });
    const rows = turnedRows(advice, 3);
    const back = parseTurned(turnedFileText(rows), base);
    expect(turnsOfRound(back, 3)).toEqual(turnsOfAdvice(advice));
    const slid = turnedRows(advise(-30, base, { altitude: 14.18, east: -19.2 }, { azimuthBy: "slide" }), 1);
    expect(turnsOfRound(parseTurned(turnedFileText(slid), base), 1)).toEqual(turnsOfRound(slid, 1));
  });
});

describe("turns as really made", () => {
  test("an adjuster or a direction that the base does not have is refused", () => {
    const turn = { adjuster: "north-east", turns: 1, direction: "clockwise", mm: null } as const;
    expect(() => effectOfTurns(base, [{ ...turn, adjuster: "jack 5" }], 45)).toThrow(
      /no adjuster "jack 5"\. Allowed: north-east/,
    );
    expect(() => effectOfTurns(base, [{ ...turn, direction: "east" }], 45)).toThrow(
      /north-east cannot be turned "east"/,
    );
    expect(() => effectOfTurns(base, [{ ...turn, adjuster: "azimuth bolts" }], 45)).toThrow(
      /Allowed: east or west/,
    );
  });
  test("left-handed threads go the other way", () => {
    const left = exampleBase({ jacks: base.jacks.map((one) => ({ ...one, clockwise: "lowers" as const })) });
    const turn = [{ adjuster: "north-east", turns: 1, direction: "clockwise", mm: null }] as const;
    const right = applyTurns(exampleBase(), turn, { latitude: 45 });
    const other = applyTurns(left, turn, { latitude: 45 });
    expect(other.altitude).toBeCloseTo(-right.altitude, 2);
    expect(right.altitude).toBeGreaterThan(1);
  });
});

test("repeated rounds of steps are put together and nothing is lost", () => {
  const advice = advise(45, exampleBase(), { altitude: -40, east: 0 });
  const groups = groupSteps(advice.steps);
  const again = groups.flatMap((group) => Array.from({ length: group.times }, () => group.steps).flat());
  expect(again.map((step) => step.text)).toEqual(advice.steps.map((step) => step.text));
  expect(groups.length).toBeLessThan(advice.steps.length / 3);
});
