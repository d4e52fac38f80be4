import { expect, test } from "vitest";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import { reportText } from "../../src/report/text.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { ridgeAdvice, ridgeFit } from "../support/fit-fixture.js";

const fit = ridgeFit();

function textOf(advice: TurnAdvice, of = fit): string {
  return reportText(turnsReport(advice, of), { width: 1000 });
}

test("the verdict says every jack and bolt, which way and how far", () => {
  const first = turnsReport(ridgeAdvice(), fit).blocks[0];
  expect(first?.kind === "sentence" ? first.text : "").toBe(
    "Turn the north-east jack 1 5/8 turns clockwise (up 3.25 mm), the north-west jack 1 5/8 turns clockwise (up 3.25 mm), the south-west jack 1 5/8 turns anticlockwise (down 3.25 mm), the south-east jack 1 5/8 turns anticlockwise (down 3.25 mm) and the azimuth bolts 6 3/8 turns, so that the south end moves east.",
  );
});

test("the cautions stand before the amounts and the steps", () => {
  const blocks = turnsReport(ridgeAdvice(), fit).blocks;
  const caution = blocks.findIndex((block) => block.kind === "sentence" && block.tone === "caution");
  const amounts = blocks.findIndex((block) => block.kind === "table");
  const steps = blocks.findIndex((block) => block.kind === "list" && block.ordered);
  expect(caution).toBeGreaterThan(0);
  expect(caution).toBeLessThan(amounts);
  expect(amounts).toBeLessThan(steps);
});

test("a shift of the zero is said not to be a fault", () => {
  expect(textOf(ridgeAdvice())).toContain("3.1′ further east");
  expect(textOf({ ...ridgeAdvice(), hourAngleZeroShift: 3.1 })).toContain("3.1′ further west");
});

test("stop here is an answer", () => {
  const advice = {
    ...ridgeAdvice(),
    recommended: false,
    steps: [],
    reasons: ["the correction is smaller than it is uncertain by"],
  };
  const text = textOf(advice);
  expect(text).toContain("Stop here: turn nothing.");
  expect(text).toContain("The correction is smaller than it is uncertain by.");
  expect(text).not.toContain("How far");
});

test("nothing is to be turned by readings that cannot be trusted", () => {
  expect(textOf({ ...ridgeAdvice(), recommended: false }, { ...fit, sound: false })).toContain(
    "Turn nothing",
  );
});

test("sliding says the end, the way and the millimetres", () => {
  const slide = { end: "north", direction: "west", shiftMm: 12.34 } as const;
  const still = ridgeAdvice().jacks.map((jack) => ({
    ...jack,
    turns: 0,
    riseMm: 0,
    direction: "none" as const,
  }));
  expect(textOf({ ...ridgeAdvice(), jacks: still, azimuthBolts: null, slide })).toContain(
    "Slide the base: its north end 12.3 mm to the west.",
  );
});

test("the slide stands before the turns, as in the steps", () => {
  const slide = { end: "north", direction: "west", shiftMm: 12.34 } as const;
  expect(textOf({ ...ridgeAdvice(), slide })).toContain(
    "Slide the base: its north end 12.3 mm to the west. Then turn the north-east jack 1 5/8 turns clockwise",
  );
});

test("the table counts turns as the steps do", () => {
  const advice = ridgeAdvice();
  const fine = { ...advice, jacks: advice.jacks.map((jack) => ({ ...jack, turns: 1 + 3 / 64 })) };
  expect(textOf(fine)).toContain("1 3/64 turns clockwise");
});

test("the lower bearing is told with its ways", () => {
  const lowerBearing = { eastMm: -1.2, upMm: 0.5, eastTurns: 0.75, upTurns: null };
  expect(textOf({ ...ridgeAdvice(), lowerBearing })).toContain("1.20 mm west (3/4 turn) and 0.50 mm up");
});
