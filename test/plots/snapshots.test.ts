import { expect, test } from "vitest";
import type { Figure, Json } from "../../src/plots/figure.js";
import { nowhereFigures, shortNight } from "../support/figures.js";

/** Last digits may differ between processors: snapshots keep three significant figures. */
const SNAPSHOT_DIGITS = 3;

function coarse(value: Json): Json {
  if (typeof value === "number") {
    const rounded = Number(value.toPrecision(SNAPSHOT_DIGITS));
    // What should be zero may come out as any tiny number.
    return Math.abs(rounded) < 1e-9 ? 0 : rounded;
  }
  if (value === null || typeof value !== "object") {
    return value;
  }
  return Array.isArray(value)
    ? value.map((item: Json) => coarse(item))
    : Object.fromEntries(Object.entries(value).map(([key, item]) => [key, coarse(item as Json)]));
}

/** One trace a line, so that a change is seen where it is. */
function snapshotText(figure: Figure): string {
  const traces = figure.data.map((trace) => `  ${JSON.stringify(coarse(trace))}`).join(",\n");
  const layout = JSON.stringify(coarse(figure.layout), null, 1);
  return `{"data": [\n${traces}\n],\n"layout": ${layout},\n"summary": ${JSON.stringify(figure.summary)}}\n`;
}

test.each(Object.entries(nowhereFigures(undefined, shortNight)))(
  "%s is drawn as it was",
  async (name, figure) => {
    await expect(snapshotText(figure)).toMatchFileSnapshot(`./snapshots/${name}.json`);
  },
);
