/** What is said of exposures: every sentence must say the figures beside it, and each case its own thing. */
import { describe, expect, it } from "vitest";
import { jackTurns } from "../../src/base/jack-turns.js";
import { type GoodEnough, goodEnough, secondsText } from "../../src/exposure/good-enough.js";
import { trueOrRefracted } from "../../src/exposure/true-or-refracted.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { fieldOfCamera, fieldOfEyepiece } from "../../src/pointing/field.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { exampleBase } from "../base/example-base.js";

const camera = (widthMm: number) => ({
  focalLengthMm: 1800,
  widthMm,
  heightMm: 0.75 * widthMm,
  pixelUm: 8.6,
});
function nightWith(east: number, targets: number, widthMm: number, perTurn = 20_000) {
  const mount = parseMount({
    name: "invented",
    site: { latitude: 47, longitude: 9, pressureHPa: 950, temperatureC: 5 },
    readings: { hourAngle: { as: "counts", perTurn }, declination: { as: "counts", perTurn } },
    limits: { altitudeDeg: 25 },
    camera: camera(widthMm),
  });
  const night = simulateNight({
    seed: 6,
    mount,
    terms: { polarAltitude: 0.3, polarEast: east, cone: 6, hourAngleZero: 20, declinationZero: -30 },
    targets,
    fromMs: Date.UTC(2026, 2, 14, 19),
    toMs: Date.UTC(2026, 2, 14, 23),
  });
  return { ...fitMount(night), mount: { ...mount, base: exampleBase() } };
}
const step = { stepDeg: 20 };
const near = nightWith(0.2, 24, 14);
const far = nightWith(25, 24, 14);
const few = nightWith(0.4, 7, 4);
const coarse = nightWith(0.3, 20, 2, 3000);

/** A duration as it is said: below ten seconds a decimal, then seconds, minutes from ten of them on, hours from two. */
it.each([
  [5.26, "5.3 s"],
  [9.94, "9.9 s"],
  [9.96, "10 s"],
  [48.4, "48 s"],
  [599.4, "599 s"],
  [600, "10 min"],
  [7199, "120 min"],
  [7200, "2 h"],
  [9000, "2.5 h"],
])("%f s is said as %s", (seconds, text) => {
  expect(secondsText(seconds)).toBe(text);
});

const partOf = (part: number): string => (part >= 0.9995 ? "all" : `${(100 * part).toFixed(0)} %`);

/** The reasons give the judgement's own figures. */
function saysItsFigures({ reasons, finding, holding }: GoodEnough): void {
  const [found, held, best, ...rest] = reasons as [string, string, string, ...string[]];
  expect(found).toContain(`within ${finding.worstWithin95.toFixed(1)}′ at the worst place`);
  expect(found).toContain(`${finding.medianWithin95.toFixed(1)}′ on half of it`);
  expect(found).toContain(`It suffices on ${partOf(finding.partInside)} of the sky.`);
  expect(held).toContain(holding.guided ? ", guided," : ", unguided,");
  expect(held).toContain(`in ${secondsText(holding.exposureS)},`);
  expect(held).toContain(`${partOf(holding.now.partInside)} of the sky stays inside`);
  expect(held).toContain(`nine tenths of it allow ${secondsText(holding.now.mostS)}.`);
  expect(best).toContain(
    `${partOf(holding.best.partInside)} of the sky, ${secondsText(holding.best.mostS)}.`,
  );
  const after = rest.filter((sentence) => sentence.startsWith("After the turns"));
  expect(after).toHaveLength(holding.after === null ? 0 : 1);
  if (holding.after !== null) expect(after[0]).toContain(secondsText(holding.after.mostS));
  const doubt = rest.filter((sentence) => sentence.includes("own uncertainty may add up to"));
  expect(doubt).toHaveLength(holding.guided ? 0 : 1);
}

describe("a judgement", () => {
  it("worth turning says how long exposures are now and how long then", () => {
    const plain = goodEnough(far, { exposureS: 30, ...step });
    expect(plain.sentence).toMatch(/^Another round at the base is worth turning/);
    expect(plain.sentence).toContain(
      `allow ${secondsText(plain.holding.now.mostS)} now, with the axis on the pole it would be ${secondsText(plain.holding.best.mostS)}.`,
    );
    saysItsFigures(plain);
    const foreseen = goodEnough(far, { exposureS: 30, turns: jackTurns(far), ...step });
    expect(foreseen.sentence).toContain(
      `after the turns it should be ${secondsText(foreseen.holding.after!.mostS)}. The exposure wanted is 30 s.`,
    );
    saysItsFigures(foreseen);
  });

  it("good enough says over how much of the sky, and what another round would gain", () => {
    let whole = 0;
    let part = 0;
    // Lower down the air smears more: no fault of the axis.
    const low = { ...near, mount: { ...near.mount, limits: { ...near.mount.limits, altitudeDeg: 10 } } };
    for (const [fit, exposureS] of [
      [near, 1],
      [near, 60],
      [low, 60],
      [low, 80],
      [low, 100],
    ] as const) {
      const answer = goodEnough(fit, { exposureS, smearLimit: 2, ...step });
      saysItsFigures(answer);
      if (!answer.goodEnough || answer.verdict !== "stop") continue;
      const { now, best } = answer.holding;
      expect(answer.sentence).toMatch(/^Stop: it is good enough\./);
      if (now.partInside >= 0.9995) whole++;
      else part++;
      expect(answer.sentence.includes("over the whole sky")).toBe(now.partInside >= 0.9995);
      expect(answer.sentence.includes("not by the axis")).toBe(now.partInside < 0.9995);
      const gains = best.mostS > 1.1 * now.mostS;
      expect(answer.sentence.includes("next to nothing")).toBe(!gains);
      expect(answer.sentence.includes("would lengthen exposures")).toBe(gains);
    }
    expect(whole).toBeGreaterThan(0);
    expect(part).toBeGreaterThan(0);
  });

  it("of few sightings says how many more: the fewest with which the worst place comes into the field", () => {
    const answer = goodEnough(few, { exposureS: 0.5, ...step });
    const { finding } = answer;
    saysItsFigures(answer);
    expect(answer.by).toBe("sightings");
    const missing = finding.sightingsMissing!;
    const within = (used: number): number => {
      const { worstWithin95: worst, leastWithin95: least } = finding;
      return Math.sqrt(least ** 2 + ((worst ** 2 - least ** 2) * few.sightings.used) / used);
    };
    expect(within(few.sightings.used + missing)).toBeLessThanOrEqual(finding.halfFieldArcmin);
    expect(within(few.sightings.used + missing - 1)).toBeGreaterThan(finding.halfFieldArcmin);
    expect(answer.sentence).toContain(`About ${missing} more sighting${missing === 1 ? "" : "s"} as good`);
    expect(finding.leastWithin95).toBeLessThan(finding.worstWithin95);
  });

  it("of readings coarser than the field says that no sighting helps", () => {
    const answer = goodEnough(coarse, { exposureS: 0.5, ...step });
    expect(answer.finding.leastWithin95).toBeGreaterThan(answer.finding.halfFieldArcmin);
    expect(answer.finding.sightingsMissing).toBeNull();
    expect(answer.sentence).toMatch(/More sightings gain nothing.*Finer encoders or a wider field/);
    saysItsFigures(answer);
  });

  it("of an axis that is not known well enough for a long exposure asks for sightings, unless guided", () => {
    const long = { exposureS: 3000, smearLimit: 0.5, ...step };
    const answer = goodEnough(near, long);
    expect(answer.holding.doubt).toBeGreaterThan(0.5);
    expect(answer).toMatchObject({ by: "sightings", goodEnough: false });
    expect(answer.sentence).toContain(`known to ${near.pole.distance.uncertainty.toFixed(1)}′ only`);
    const guided = goodEnough(near, { ...long, guided: true });
    expect(guided.sentence).not.toContain("only. That alone may smear");
    saysItsFigures(guided);
    // The doubt in a field of an eyepiece is an angle.
    const eyepiece = goodEnough(near, { exposureS: 60, field: fieldOfEyepiece(0.5), ...step });
    expect(eyepiece.reasons.join(" ")).toContain("arcseconds (95 %)");
    const pixel = fieldOfCamera(camera(14)).pixelArcsec!;
    const same = goodEnough(near, { exposureS: 60, ...step }).holding.doubt;
    expect(eyepiece.holding.doubt).toBeCloseTo(same * pixel, 6);
  });
});

it("the pole that lets nine tenths of the sky be exposed a twentieth longer is the one to aim at, and is said so", () => {
  const field = fieldOfCamera(camera(14));
  const told = new Set<string>();
  for (const latitude of [-62, -35, 20, 48, 70]) {
    const mount = parseMount({
      name: "invented",
      site: { latitude, longitude: 9, pressureHPa: 1010, temperatureC: 5 },
      readings: {
        hourAngle: { as: "counts", perTurn: 20_000 },
        declination: { as: "counts", perTurn: 20_000 },
      },
      limits: { altitudeDeg: latitude === 48 ? 60 : 20 },
    });
    for (const exposureS of [60, 300]) {
      const answer = trueOrRefracted(mount, { field, exposureS });
      const better = answer.refractedPole.mostS > 1.05 * answer.truePole.mostS ? "refracted" : "true";
      expect(answer.better).toBe(better);
      expect(answer.sentence).toMatch(
        better === "true" ? /^Aim at the true pole/ : /^The refracted pole serves/,
      );
      expect(answer.truePole.mostS).toBeLessThanOrEqual(answer.truePole.medianS);
      expect(answer.sentence).toContain(`${answer.raisedArcmin.toFixed(1)}′ higher`);
      told.add(better);
    }
  }
  expect([...told].sort()).toEqual(["refracted", "true"]);
});
