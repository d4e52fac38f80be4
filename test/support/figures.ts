/** Every figure of the invented Nowhere School, for snapshots, for the browser's checks and for looking at. */
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import type { Figure } from "../../src/plots/figure.js";
import * as plots from "../../src/plots/plots.js";
import { lightTheme, type Theme } from "../../src/words/theme.js";
import { nowhereAdvice, nowhereFit, nowhereMount } from "./fit-fixture.js";

const nearPole = { cone: 6.5, squareness: -4.1, tubeSag: 1.8 } as const;

/** A night on which only eight stars were sighted, for short snapshots. */
export const shortNight = ["Mirach", "Achernar", "Diphda", "Rigel", "Canopus", "Sirius", "Acamar", "Procyon"];

/** How well the telescope finds things, as a smooth invented map. */
export function nowhereMap(halfFieldArcmin: number | null = 5.2): plots.PointingMap {
  const azimuthsDeg = Array.from({ length: 24 }, (_, index) => 15 * index);
  const altitudesDeg = Array.from({ length: 10 }, (_, index) => 15 + 8 * index);
  const arcmin = altitudesDeg.map((altitude) =>
    azimuthsDeg.map(
      (azimuth) =>
        0.6 +
        1.1 * Math.exp(-(((altitude - 29) / 20) ** 2)) * (1 + Math.cos(((azimuth - 180) * Math.PI) / 180)) +
        (90 - altitude) / 90,
    ),
  );
  return {
    mountName: nowhereMount.name,
    latitudeDeg: -30,
    azimuthsDeg,
    altitudesDeg,
    arcmin,
    halfFieldArcmin,
  };
}

/** Turns that leave a foot and slide the base. */
function slidingAdvice(): TurnAdvice {
  const advice = nowhereAdvice();
  return {
    ...advice,
    moves: [
      ...advice.moves.filter(({ adjuster }) => !["south-east", "azimuth bolts"].includes(adjuster)),
      { adjuster: "base", direction: "west", mm: 12.3, turns: null, uncertaintyTurns: 0 },
    ],
    jacks: advice.jacks.map((jack) =>
      jack.name === "south-east" ? { ...jack, turns: 0, riseMm: 0, direction: "none" as const } : jack,
    ),
    azimuthBolts: null,
    slide: { end: "north", direction: "west", shiftMm: 12.3 },
  };
}

/** Every figure by its name. */
export function nowhereFigures(
  theme: Theme = lightTheme,
  stars?: readonly string[],
): Readonly<Record<string, Figure>> {
  const of = stars === undefined ? {} : { stars };
  const fit = nowhereFit(of);
  const later = nowhereFit({
    ...of,
    seed: 6,
    truth: { polarAltitude: 3.6, polarEast: -4.1, ...nearPole },
    misnamedRow: null,
  });
  const last = nowhereFit({
    ...of,
    seed: 5,
    truth: { polarAltitude: 0.6, polarEast: -1.1, ...nearPole },
    misnamedRow: null,
  });
  const advice = nowhereAdvice();
  return {
    "residual-sky": plots.residualSky(fit, theme),
    "residual-angles": plots.residualAngles(fit, theme),
    "axis-pointing": plots.axisPointing(fit, advice, theme),
    "base-from-above": plots.baseFromAbove(nowhereMount, advice, theme),
    "base-slide": plots.baseFromAbove(nowhereMount, slidingAdvice(), theme),
    "sky-coverage": plots.skyCoverage(
      fit,
      [
        { label: "Zaurak", azimuthDeg: 300, altitudeDeg: 30, reason: "parts cone from squareness" },
        { label: "Zubenelgenubi", azimuthDeg: 85, altitudeDeg: 25 },
      ],
      theme,
    ),
    "term-correlation": plots.termCorrelation(fit, theme),
    "term-pattern": plots.termPattern("polarAltitude", nowhereMount.site, theme),
    "mount-part": plots.mountPart("cone", nowhereMount.site, theme)!,
    "pointing-uncertainty": plots.pointingUncertainty(nowhereMap(), theme),
    "rounds-converging": plots.roundsConverging(
      [
        { pole: fit.pole, label: "14 March" },
        { pole: later.pole, label: "15 March", predicted: { altitude: 0.2, east: -0.4 } },
        { pole: last.pole, label: "16 March", predicted: { altitude: 0.3, east: -0.4 } },
      ],
      theme,
    ),
    "axis-walk": plots.axisWalk([fit, later, last], theme),
    "before-after": plots.beforeAfter(fit, last, theme),
    "zero-jump": plots.zeroJump(nowhereFit({ ...of, zerosMoveAtRow: stars === undefined ? 13 : 5 }), theme),
  };
}
