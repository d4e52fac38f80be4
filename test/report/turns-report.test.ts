import { expect, test } from "vitest";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import { setOut } from "../../src/report/report.js";
import { reportText } from "../../src/report/text.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { nowhereAdvice, nowhereFit } from "../support/fit-fixture.js";

const fit = nowhereFit();

function textOf(advice: TurnAdvice, of = fit): string {
  return reportText(setOut(turnsReport(advice, of)), { width: 1000 });
}

test("the verdict says every jack and bolt, which way and how far", () => {
  const first = turnsReport(nowhereAdvice(), fit).blocks[0];
  expect(first?.kind === "sentence" ? first.text : "").toBe(
    "Turn the north-east jack 1 5/8 turns clockwise (up 3.25 mm), the north-west jack 1 5/8 turns clockwise (up 3.25 mm), the south-west jack 1 5/8 turns anticlockwise (down 3.25 mm), the south-east jack 1 5/8 turns anticlockwise (down 3.25 mm) and the azimuth bolts 6 3/8 turns, so that the south end moves 9.56 mm east.",
  );
});

test("the cautions stand before the amounts and the steps", () => {
  const blocks = turnsReport(nowhereAdvice(), fit).blocks;
  const caution = blocks.findIndex((block) => block.kind === "sentence" && block.tone === "caution");
  const amounts = blocks.findIndex((block) => block.kind === "table");
  const steps = blocks.findIndex((block) => block.kind === "list" && block.ordered);
  expect(caution).toBeGreaterThan(0);
  expect(caution).toBeLessThan(amounts);
  expect(amounts).toBeLessThan(steps);
});

test("a shift of the zero is said not to be a fault", () => {
  expect(textOf(nowhereAdvice())).toContain("3.1′ further east");
  expect(textOf({ ...nowhereAdvice(), hourAngleZeroShift: 3.1 })).toContain("3.1′ further west");
});

test("stop here is an answer", () => {
  const advice = {
    ...nowhereAdvice(),
    recommended: false,
    verdict: "stop" as const,
    steps: [],
    reasons: ["Stop here: turn nothing.", "the correction is smaller than it is uncertain by"],
  };
  const text = textOf(advice);
  expect(text).toContain("Stop here: turn nothing.");
  expect(text).toContain("The correction is smaller than it is uncertain by.");
  expect(text).not.toContain("How far");
});

test("what limits the advice stands above it, and its reasons behind it", () => {
  const advice = { ...nowhereAdvice(), notes: ["The jacks reach only 70 % of the way."] };
  const { blocks } = turnsReport(advice, fit);
  const kinds = blocks.map((block) =>
    block.kind === "sentence"
      ? (block.tone ?? "plain")
      : block.kind === "list" && block.ordered
        ? "steps"
        : block.kind,
  );
  // Verdict, what limits it, picture, cautions, how far, steps, what comes after, and the reasons last.
  const order = ["verdict", "note", "picture", "caution", "table", "steps", "list", "behind"];
  const places = order.map((kind) => kinds.indexOf(kind));
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(places).not.toContain(-1);
  expect(reportText({ title: "t", blocks })).not.toContain("they leave the base level");
  expect(reportText({ title: "t", blocks })).toContain("With --why");
  expect(reportText(setOut({ title: "t", blocks }))).toContain("leave the base level");
});

test("in brief the notes and the cautions stay", () => {
  const advice = { ...nowhereAdvice(), notes: ["The jacks reach only 70 % of the way."] };
  const text = reportText(turnsReport(advice, fit, { brief: true }));
  expect(text).toContain("The jacks reach only 70 % of the way.");
  expect(text).toContain("! Nothing and nobody under the frame.");
  expect(text).not.toContain("1/2 turn clockwise");
});

test("no line breaks inside a number of turns", () => {
  const text = reportText(
    { title: "t", blocks: [{ kind: "sentence", text: "Turn the north-east jack 6 1/4 turns clockwise." }] },
    { width: 30 },
  );
  expect(text).toContain("6 1/4 turns");
});

test("a slide is told by its end, its way and the millimetres, after the jacks as in the steps", () => {
  const slide = { end: "north", direction: "west", shiftMm: 12.34 } as const;
  const move = { adjuster: "base", direction: "west", mm: 12.34, turns: null, uncertaintyTurns: 0 } as const;
  const advice = nowhereAdvice();
  expect(textOf({ ...advice, moves: [...advice.moves, move], slide })).toContain(
    "moves 9.56 mm east. Slide the base: its north end 12.3 mm to the west.",
  );
  expect(textOf({ ...advice, moves: [move], azimuthBolts: null, slide })).toContain(
    "Slide the base: its north end 12.3 mm to the west.",
  );
});

test("the table counts turns as the steps do, twelfths of a turn too", () => {
  const advice = nowhereAdvice();
  const with_ = (turns: number) =>
    textOf({ ...advice, jacks: advice.jacks.map((jack) => ({ ...jack, turns })) });
  expect(with_(1 + 3 / 64)).toContain("1 3/64 turns clockwise");
  expect(with_(8 + 2 / 12)).toContain("8 1/6 turns clockwise");
  expect(with_(7 / 12)).toContain("7/12 turn clockwise");
});
