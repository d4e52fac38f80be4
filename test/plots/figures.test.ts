import { describe, expect, test } from "vitest";
import type { Figure, Json } from "../../src/plots/figure.js";
import * as plots from "../../src/plots/plots.js";
import { lightTheme, nightTheme } from "../../src/words/theme.js";
import { nowhereFigures } from "../support/figures.js";
import { nowhereFit } from "../support/fit-fixture.js";

const figures = Object.entries(nowhereFigures());
/** Readable at arm's length. */
const SMALLEST_FONT_PX = 14;
/** What plotly's cartesian bundle draws (its README), as far as this project uses it. */
const TRACE_TYPES = ["scatter", "heatmap", "contour", "bar"];
/** A notebook with ten figures and one library stays under 2.5 MB when each is under this. */
const LARGEST_FIGURE_BYTES = 60_000;

function* every(
  value: Json,
  path: readonly string[] = [],
): Generator<{ path: readonly string[]; value: Json }> {
  yield { path, value };
  if (Array.isArray(value)) {
    for (const [index, item] of value.entries()) {
      yield* every(item as Json, [...path, String(index)]);
    }
  } else if (value !== null && typeof value === "object") {
    for (const [key, item] of Object.entries(value)) {
      yield* every(item as Json, [...path, key]);
    }
  }
}

function whole(figure: Figure): Json {
  return { data: figure.data, layout: figure.layout };
}

describe.each(figures)("%s", (_name, figure) => {
  test("is plain data that survives JSON unchanged", () => {
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  });

  test("uses only what the small bundle draws", () => {
    for (const trace of figure.data) {
      expect(TRACE_TYPES).toContain(trace.type);
    }
  });

  test("has a title, a summary, and letters that can be read at arm's length", () => {
    expect(JSON.stringify(figure.layout.title)).toMatch(/"text":".{10,}"/);
    expect(figure.summary.length).toBeGreaterThan(30);
    const sizes = [...every(whole(figure))].filter(
      ({ path }) => path.at(-1) === "size" && /font/i.test(path.at(-2) ?? ""),
    );
    expect(sizes.length).toBeGreaterThan(0);
    for (const { value } of sizes) {
      expect(value).toBeGreaterThanOrEqual(SMALLEST_FONT_PX);
    }
  });

  test("names the unit of every axis that is shown", () => {
    for (const [key, value] of Object.entries(figure.layout)) {
      const axis = value as { visible?: boolean; title?: { text?: string } };
      if (/^[xy]axis\d?$/.test(key) && axis.visible !== false) {
        expect(axis.title?.text).toMatch(/′|mm|hours|degrees|no unit|number|row of the night file/);
      }
    }
  });

  test("holds no number that JSON cannot, and no endless list of digits", () => {
    for (const { value } of every(whole(figure))) {
      if (typeof value === "number") {
        expect(Number.isFinite(value)).toBe(true);
      }
    }
    expect(JSON.stringify(figure)).not.toMatch(/\d\.\d{12,}/);
  });

  test("in the night theme every colour is black or red", () => {
    const night = plots.themed(figure, nightTheme);
    const colours = [...every(whole(night))].filter(
      ({ value, path }) =>
        typeof value === "string" && (/^(#|rgb)/.test(value) || /color$/.test(path.at(-1) ?? "")),
    );
    expect(colours.length).toBeGreaterThan(5);
    for (const { value } of colours) {
      expect(value).toMatch(/^#[0-9a-f]{2}0000$/);
    }
    expect(plots.themed(figure, lightTheme)).toBe(figure);
  });

  test("its still picture is small, holds its title and summary, and stays in theme", () => {
    const svg = plots.figureSvg(figure);
    expect(svg.length).toBeLessThan(LARGEST_FIGURE_BYTES / 2);
    expect(svg).toMatch(/^<svg [\s\S]*<title>.+<\/title><desc>.+<\/desc>[\s\S]*<\/svg>$/);
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    const night = plots.figureSvg(figure, nightTheme);
    for (const colour of night.match(/#[0-9a-f]{3,8}\b/gi) ?? []) {
      if (!/^#39$/.test(colour)) {
        expect(colour).toMatch(/^#[0-9a-f]{2}0000$/);
      }
    }
  });
});

test("a figure made in the night theme is the one made in the light theme and changed", () => {
  const night = nowhereFigures(nightTheme);
  for (const [name, figure] of figures) {
    expect(plots.themed(figure, nightTheme)).toEqual(night[name]);
  }
});

test("a star's name reaches a figure only escaped", () => {
  const evil = `<a href="javascript:alert(1)">x</a>&<b>`;
  const stars = [...Array.from({ length: 6 }, (_, index) => `star ${index}`), evil, "Rigel", "Sirius"];
  const fit = nowhereFit({ stars });
  const named = { ...fit, mount: { ...fit.mount, name: evil } };
  for (const figure of [
    plots.residualSky(named),
    plots.residualAngles(named),
    plots.skyCoverage(named, [{ label: evil, azimuthDeg: 10, altitudeDeg: 50, reason: evil }]),
    plots.zeroJump(named),
    plots.roundsConverging([{ pole: fit.pole, label: evil }]),
    plots.axisWalk([{ pole: fit.pole, label: evil }]),
  ]) {
    const text = JSON.stringify(whole(figure));
    expect(text).not.toContain("<a ");
    expect(text).not.toContain("<b>");
    const svg = plots.figureSvg(figure);
    expect(svg).not.toMatch(/<a |<b>/);
  }
});

test("a fit of nothing is still drawn", () => {
  const fit = nowhereFit();
  const nothing = {
    ...fit,
    residuals: [],
    terms: [],
    covariance: [],
    sightings: { read: 0, used: 0, setAside: 0 },
  };
  const advice = null;
  for (const figure of [
    plots.residualSky(nothing),
    plots.residualAngles(nothing),
    plots.skyCoverage(nothing),
    plots.termCorrelation(nothing),
    plots.zeroJump(nothing),
    plots.axisPointing(nothing, advice),
    plots.roundsConverging([]),
    plots.axisWalk([]),
  ]) {
    expect(plots.figureSvg(figure)).not.toMatch(/NaN|Infinity/);
  }
});
