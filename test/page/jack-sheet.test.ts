import { expect, test } from "vitest";
import { jackSheet as sheetOfTurns } from "../../src/answers/jack-sheet.js";
import { jackTurns } from "../../src/answers/turns.js";
import { groupSteps } from "../../src/base/turn-steps.js";
import { PolewrightError } from "../../src/errors.js";
import { jackSheet } from "../../src/page/jack-sheet.js";
import { exampleBase, exampleMount, southBolts } from "../base/example-base.js";
import { nightOf } from "../base/world.js";
import { nowhereAdvice, nowhereFit } from "../support/fit-fixture.js";

const boxesOf = (html: string): number => html.split('type="checkbox"').length - 1;

test("the base stands first, then four cautions, the steps with a box for each repeat, and room for what was turned", () => {
  const fit = nightOf(
    exampleMount(-30, exampleBase({ azimuthBolts: southBolts })),
    { altitude: 18, east: -12, terms: { hourAngleZero: 40 } },
    17,
  );
  const turns = jackTurns(fit);
  const { html, summary } = sheetOfTurns(turns);
  const order = [
    "<svg",
    "Tick before a hand goes near",
    "The steps, in this order",
    "What was really turned",
  ];
  const places = order.map((mark) => html.indexOf(mark));
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(places[0]).toBeGreaterThan(0);
  const repeats = groupSteps(turns.steps).reduce((sum, { times }) => sum + times, 0);
  expect(boxesOf(html)).toBe(4 + repeats);
  for (const move of turns.moves) expect(html).toContain(`<th scope="row">${move.adjuster}</th>`);
  expect(summary).toContain("Turn the north-");
  // Nothing from outside.
  expect(html).not.toMatch(/src=|href=|<script/);
});

test("a name cannot write HTML, and an advice of unknown origin needs its fit", () => {
  const mount = { ...nowhereFit().mount, name: "<img src=x onerror=alert(1)>" };
  expect(jackSheet(nowhereAdvice(), mount).html).not.toContain("<img");
  expect(() => sheetOfTurns(nowhereAdvice())).toThrow(PolewrightError);
  expect(sheetOfTurns(nowhereAdvice(), nowhereFit()).title).toContain("Nowhere School");
});

test("where nothing is to be turned the sheet says so and has nothing to tick", () => {
  const still = {
    ...nowhereAdvice(),
    recommended: false,
    moves: [],
    steps: [],
    reasons: ["Stop here: enough."],
  };
  const { html } = jackSheet(still, nowhereFit().mount);
  expect(html).toContain("Stop here: enough.");
  expect(boxesOf(html)).toBe(0);
});
