import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import { explain as explainTonight } from "../../src/answers/explain.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import {
  CONE,
  HOUR_ANGLE_ZERO,
  mountModel,
  normalStance,
  POLAR_ALTITUDE,
  SQUARENESS,
  TUBE_SAG,
} from "../../src/mount/model.js";
import { type BuiltInTermName, termNames } from "../../src/mount/terms.js";
import { explain, shimMm } from "../../src/report/explain.js";
import { reportText } from "../../src/report/text.js";
import { cross, dot, type Vector } from "../../src/vectors.js";
import { nowhereFit, nowhereMount } from "../support/fit-fixture.js";

/** A fit in which one term has a value that is beyond doubt. */
function fitWith(
  name: BuiltInTermName,
  value: number,
  latitude = -30,
  kind: "split-ring" | "german" = "split-ring",
): MountFit {
  const fit = nowhereFit();
  const mount = { ...nowhereMount, kind, site: { ...nowhereMount.site, latitude } };
  const [template] = fit.terms;
  return {
    ...fit,
    mount,
    terms: [
      {
        ...template!,
        name,
        label: name,
        value,
        uncertainty: 0.1,
        standing: "measured",
        unit: "arcmin",
        set: null,
      },
    ],
  };
}

function words(name: BuiltInTermName, fit?: MountFit): string {
  return reportText(explain(name, fit), { width: 2000 });
}

test("every term is explained: what it is, how it shows, how to correct it", () => {
  for (const name of termNames) {
    const report = explain(name);
    const headings = report.blocks.flatMap((block) => (block.kind === "heading" ? [block.text] : []));
    expect(headings).toEqual(["How it shows", "How to correct it"]);
    expect(words(name).length).toBeGreaterThan(300);
  }
});

test("an unknown term is refused with the nearest known one", () => {
  expect(() => explain("squarness" as BuiltInTermName)).toThrow(/Did you mean squareness/);
  expect(() => explain("customFork", nowhereFit())).toThrow(/no term called that/);
  expect(reportText(explain("customFork"))).toContain("builder's own");
});

test("a shim is the spacing times the tangent of the angle", () => {
  // One millimetre over one metre is 3.44′ (the trade's figure in shared practice; 0.001 rad = 3.4377′).
  expect(shimMm(1000, 3.4377)).toBeCloseTo(1, 4);
  expect(words("squareness", fitWith("squareness", 10))).toContain(
    `${(620 * Math.tan(10 * ARCMINUTE)).toFixed(2)} mm`,
  );
  expect(words("cone", fitWith("cone", 10))).toContain(`${(480 * Math.tan(10 * ARCMINUTE)).toFixed(2)} mm`);
});

test("a value no larger than its uncertainty, or known from the build only, is not to be mended", () => {
  const fit = fitWith("cone", 1);
  const doubtful = { ...fit, terms: [{ ...fit.terms[0]!, uncertainty: 0.8 }] };
  expect(words("cone", doubtful)).toContain("correct nothing by it");
  expect(words("cone", doubtful)).not.toContain(" mm");
  const untold = { ...fit, terms: [{ ...fit.terms[0]!, standing: "tolerance only" as const }] };
  expect(words("cone", untold)).toContain("sight more before correcting");
  expect(words("cone", { ...fit, sound: false })).not.toContain(" mm");
});

/**
 * Where the telescope looks with its axes at given angles, by the exact model's inverse: unit vector in the hour-angle frame (X
 * meridian, Y east, Z north pole).
 */
function looks(
  term: number,
  value: number,
  hourAngle: number,
  declination: number,
  latitude: number,
): Vector {
  const model = mountModel(latitude * DEGREE);
  const coefficients = new Float64Array(model.size);
  coefficients[term] = value;
  const { hourAngle: h, declination: d } = model.inverse(coefficients, hourAngle, declination, normalStance);
  return [Math.cos(d) * Math.cos(h), -Math.cos(d) * Math.sin(h), Math.sin(d)];
}

const TEN_ARCMIN = 10 * ARCMINUTE;

describe("the words agree with the exact model of the mount", () => {
  test.each([52, -30])(
    "cone: positive leans east on the meridian, so the sky end must go west (latitude %f)",
    (latitude) => {
      expect(looks(CONE, TEN_ARCMIN, 0, 0.2, latitude)[1]).toBeGreaterThan(0);
      expect(words("cone", fitWith("cone", 10, latitude))).toContain("the sky end of the tube must go west");
      expect(words("cone", fitWith("cone", -10, latitude))).toContain("the sky end of the tube must go east");
      expect(words("cone", fitWith("cone", 10, latitude))).toContain(
        "shim on the east side of the front ring",
      );
    },
  );

  test.each([52, -30])("squareness: which trunnion must go up the polar axis (latitude %f)", (latitude) => {
    // With the tube on the meridian the declination axis is square to every direction that the tube can take about it;
    // two of them give the axis, and its east end is the one with positive Y.
    const a = looks(SQUARENESS, TEN_ARCMIN, 0, 0, latitude);
    const b = looks(SQUARENESS, TEN_ARCMIN, 0, 80 * DEGREE, latitude);
    const normal = cross(a, b);
    const eastEnd: Vector = normal[1] > 0 ? normal : [-normal[0], -normal[1], -normal[2]];
    // How far the east end leans along the polar axis towards its upper end.
    const alongUpper = dot(eastEnd, [0, 0, latitude >= 0 ? 1 : -1]);
    const mustGoUp = alongUpper < 0 ? "east" : "west";
    expect(words("squareness", fitWith("squareness", 10, latitude))).toContain(
      `move the ${mustGoUp} trunnion towards the upper end`,
    );
    const opposite = mustGoUp === "east" ? "west" : "east";
    expect(words("squareness", fitWith("squareness", -10, latitude))).toContain(
      `move the ${opposite} trunnion towards the upper end`,
    );
  });

  test.each([52, -30])(
    "tube sag: positive, the telescope looks lower than its axes say (latitude %f)",
    (latitude) => {
      const up: Vector = [Math.cos(latitude * DEGREE), 0, Math.sin(latitude * DEGREE)];
      const straight = looks(HOUR_ANGLE_ZERO, 0, 1, 0.1, latitude);
      const sagging = looks(TUBE_SAG, TEN_ARCMIN, 1, 0.1, latitude);
      expect(dot(sagging, up)).toBeLessThan(dot(straight, up));
      expect(words("tubeSag")).toContain("looks a little lower than its axes say");
    },
  );

  test.each([
    [52, "north"],
    [-30, "south"],
  ])("polar altitude: too high, the %s-side end sinks (latitude %f)", (latitude, end) => {
    // Too high: with the declination axis at the pole the telescope looks where the polar axis points, above the pole.
    const pole = looks(POLAR_ALTITUDE, TEN_ARCMIN, 0, (latitude >= 0 ? 90 : -90) * DEGREE, latitude);
    const up: Vector = [Math.cos(latitude * DEGREE), 0, Math.sin(latitude * DEGREE)];
    expect(dot(pole, up)).toBeGreaterThan(Math.sin(Math.abs(latitude) * DEGREE));
    expect(words("polarAltitude", fitWith("polarAltitude", 10, latitude))).toContain(
      `The ${end} end of the base must sink`,
    );
    expect(words("polarAltitude", fitWith("polarAltitude", -10, latitude))).toContain(
      `The ${end} end of the base must rise`,
    );
  });

  test("scale: the number of counts that would make it vanish", () => {
    const fit = fitWith("hourAngleScale", 3437.75 * 0.01);
    const scaled = { ...fit, terms: [{ ...fit.terms[0]!, unit: "arcmin/rad" as const }] };
    // Readings one per cent too large vanish with one per cent more counts in a turn.
    expect(words("hourAngleScale", scaled)).toContain("perTurn at 16547.8 instead of 16384.0");
  });

  test("german mount: the ring to shim depends on the tube's side", () => {
    expect(words("cone", fitWith("cone", 10, 52, "german"))).toContain(
      "with the tube on the west end of the axis put it under the front ring, with the tube on the east end under the rear ring",
    );
  });
});

test("with a night it names the star that would measure the term better, and by how much", () => {
  const fit = nowhereFit();
  const said = reportText(explainTonight("trunnionSag", fit), { width: 2000 });
  const [, before, after] = /uncertainty of trunnion sag from ([\d.]+)′ to ([\d.]+)′/.exec(said) ?? [];
  const term = fit.terms.find(({ name }) => name === "trunnionSag")!;
  expect(Number(before)).toBeCloseTo(term.uncertainty, 1);
  expect(Number(after)).toBeLessThan(Number(before));
  expect(reportText(explainTonight("trunnionSag"))).not.toContain("sight another star");
  expect(reportText(explainTonight("trunnionSag", { ...fit, sound: false }))).not.toContain("another star");
});
