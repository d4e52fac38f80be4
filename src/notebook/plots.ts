/**
 * Every figure as notebooks draw it: printing its summary, and shown in the theme in force, for `show` gives a figure
 * made in the light theme the colours of any other.
 */

import { printable } from "../answers/printable.js";
import { goodEnoughWithin } from "../base/another-round.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import type { DriftComparison } from "../drift/compare.js";
import type { DriftResult } from "../drift/drift.js";
import type { DriveResult } from "../drive/drive-result.js";
import { type PointingUncertaintyMap, pointingUncertaintyMap } from "../exposure/good-enough-map.js";
import type { MountFit } from "../fit/fit-result.js";
import type { Months } from "../months/months.js";
import type { Mount } from "../mount/mount.js";
import type { BuiltInTermName } from "../mount/terms.js";
import type { NextStar as AdvisedStar } from "../plan/next.js";
import type { Plan } from "../plan/plan.js";
import { axisPointing as plainAxisPointing } from "../plots/axis-pointing.js";
import { axisWalk as plainAxisWalk, type WalkNight } from "../plots/axis-walk.js";
import { baseFromAbove as plainBaseFromAbove } from "../plots/base-from-above.js";
import { beforeAfter as plainBeforeAfter } from "../plots/before-after.js";
import { driftAxis as plainDriftAxis } from "../plots/drift.js";
import { driveFigures } from "../plots/drive.js";
import type { Figure } from "../plots/figure.js";
import { monthsFigures } from "../plots/months.js";
import { mountPart as plainMountPart } from "../plots/mount-part.js";
import { planSky as plainPlanSky } from "../plots/plan-sky.js";
import { pointingUncertainty as plainPointingUncertainty } from "../plots/pointing-uncertainty.js";
import { residualAngles as plainResidualAngles } from "../plots/residual-angles.js";
import { residualSky as plainResidualSky, type ResidualSkyOptions } from "../plots/residual-sky.js";
import { roundsConverging as plainRoundsConverging, type RoundPoint } from "../plots/rounds-converging.js";
import { type NextStar, skyCoverage as plainSkyCoverage } from "../plots/sky-coverage.js";
import { figureSvg as plainFigureSvg, type SvgOptions } from "../plots/svg.js";
import { termCorrelation as plainTermCorrelation } from "../plots/term-correlation.js";
import { termPattern as plainTermPattern } from "../plots/term-pattern.js";
import { zeroJump as plainZeroJump } from "../plots/zero-jump.js";
import { plainText } from "../words/escape.js";
import type { Theme } from "../words/theme.js";
import { titleOf } from "./figure-html.js";
import { currentTheme } from "./theme.js";

export type { WalkNight } from "../plots/axis-walk.js";
export type { ResidualSkyOptions } from "../plots/residual-sky.js";
export type { RoundPoint } from "../plots/rounds-converging.js";
export type { NextStar } from "../plots/sky-coverage.js";
export { type CorrelatedPair, correlatedPairs } from "../plots/term-correlation.js";
export { type TermEffect, termEffects } from "../plots/term-pattern.js";
export { themed } from "../plots/themed.js";

function noted(figure: Figure): Figure {
  return printable(
    { ...figure },
    () => `${plainText(titleOf(figure.layout.title))}\n${plainText(figure.summary)}`,
  );
}

/**
 * What the mount's stars leave over, as arrows on the sky: from where a star is to where the readings point.
 *
 * @param options - `scaleArcmin` fixes the scale, so that several nights compare
 * @example
 * ```ts
 * show(plots.residualSky(fit, { scaleArcmin: 5 }));
 * ```
 */
export function residualSky(fit: MountFit, options: ResidualSkyOptions = {}): Figure {
  return noted(plainResidualSky(fit, undefined, options));
}

/**
 * The same against hour angle and declination, where the pattern of a single term shows.
 *
 * @example
 * ```ts
 * show(plots.residualAngles(fit));
 * ```
 */
export function residualAngles(fit: MountFit): Figure {
  return noted(plainResidualAngles(fit));
}

/**
 * Where the polar axis points, with the pole in the middle; with turns also where it should point afterwards.
 *
 * @example
 * ```ts
 * show(plots.axisPointing(fit, jackTurns(fit)));
 * ```
 */
export function axisPointing(fit: MountFit, advice: TurnAdvice | null = null): Figure {
  return noted(plainAxisPointing(fit, advice));
}

/**
 * The base from above: which jack and bolt to turn, which way and how far.
 *
 * @example
 * ```ts
 * show(plots.baseFromAbove(fit.mount, jackTurns(fit)));
 * ```
 */
export function baseFromAbove(mount: Mount, advice: TurnAdvice): Figure {
  return noted(plainBaseFromAbove(mount, advice));
}

/**
 * Where the axis pointed before and after.
 *
 * @example
 * ```ts
 * show(plots.beforeAfter(fit, fitMount(secondNight)));
 * ```
 */
export function beforeAfter(before: MountFit, after: MountFit): Figure {
  return noted(plainBeforeAfter(before, after));
}

/**
 * How the axis comes nearer the pole, round by round.
 *
 * @param rounds - fits in order
 * @param goodEnoughArcmin - from where on it is good enough; of fits what the last one allows to say, when not given
 * @example
 * ```ts
 * show(plots.roundsConverging([fit, fitMount(secondNight)]));
 * ```
 */
export function roundsConverging(
  rounds: readonly (RoundPoint | MountFit)[],
  goodEnoughArcmin?: number,
): Figure {
  const last = rounds.at(-1);
  const known = last !== undefined && "mount" in last ? goodEnoughWithin(last.mount, last.pole) : null;
  return noted(plainRoundsConverging(rounds, undefined, goodEnoughArcmin ?? known));
}

/**
 * The polar axis on its way to the pole, night by night, with a button that lets it walk.
 *
 * @example
 * ```ts
 * show(plots.axisWalk([fit, fitMount(secondNight)]));
 * ```
 */
export function axisWalk(nights: readonly WalkNight[]): Figure {
  return noted(plainAxisWalk(nights));
}

/**
 * Where on the sky the sightings lie, and the star to sight next (from `night.next()`, or several).
 *
 * @example
 * ```ts
 * show(plots.skyCoverage(fit, night.next({ at: "2026-03-14T18:50:00Z" })));
 * ```
 */
export function skyCoverage(
  fit: MountFit,
  next: AdvisedStar | null | readonly (AdvisedStar | NextStar)[] = [],
): Figure {
  const stars: readonly (AdvisedStar | NextStar)[] = next === null ? [] : "length" in next ? next : [next];
  return noted(
    plainSkyCoverage(
      fit,
      stars.map((star) => ("label" in star ? star : { ...star, label: star.star })),
    ),
  );
}

/**
 * An evening's plan over the sky: stars in order, and the way from one to the next.
 *
 * @example
 * ```ts
 * show(plots.planSky(planStars(mount, "2026-03-14T18:30:00Z"), mount));
 * ```
 */
export function planSky(plan: Plan, mount: Mount): Figure {
  return noted(plainPlanSky(plan, mount.site.latitude, mount.limits));
}

/**
 * Which terms tonight's stars cannot tell apart.
 *
 * @example
 * ```ts
 * show(plots.termCorrelation(fit));
 * ```
 */
export function termCorrelation(fit: MountFit): Figure {
  return noted(plainTermCorrelation(fit));
}

/**
 * What a term does to the readings over the whole sky.
 *
 * @example
 * ```ts
 * show(plots.termPattern("cone", { latitude: 48 }));
 * ```
 */
export function termPattern(name: BuiltInTermName, site: { readonly latitude: number }): Figure {
  return noted(plainTermPattern(name, site));
}

/**
 * The part of the telescope that a term sits in, much too large; null for one that cannot be seen on a mount.
 *
 * @example
 * ```ts
 * show(plots.mountPart("cone", { latitude: 48 }));
 * ```
 */
export function mountPart(name: BuiltInTermName, site: { readonly latitude: number }): Figure | null {
  const part = plainMountPart(name, site);
  return part === null ? null : noted(part);
}

/**
 * The encoders' zeros sighting by sighting: a step is a slip or a power cut.
 *
 * @example
 * ```ts
 * show(plots.zeroJump(fit));
 * ```
 */
export function zeroJump(fit: MountFit): Figure {
  return noted(plainZeroJump(fit));
}

/**
 * How surely the telescope finds things, over the sky.
 *
 * @example
 * ```ts
 * show(plots.pointingUncertainty(fit));
 * ```
 */
export function pointingUncertainty(fit: MountFit | PointingUncertaintyMap): Figure {
  return noted(plainPointingUncertainty("terms" in fit ? pointingUncertaintyMap(fit) : fit));
}

/**
 * The axis by drift beside the axis by sightings.
 *
 * @example
 * ```ts
 * show(plots.driftAxis({ ...compareDrift([{ star: "Alphard", time: "2026-03-14T21:10:00Z", minutes: 10, driftNorthArcsec: 46 }], fit), fit }));
 * ```
 */
export function driftAxis(check: {
  readonly drift: DriftResult;
  readonly comparison: DriftComparison | null;
  readonly fit: MountFit;
}): Figure {
  return noted(plainDriftAxis(check.drift, check.fit.pole, check.comparison, check.fit.mount.name));
}

/**
 * What a tracked star's course shows of the drive: the course, its periods, and how much it smears.
 *
 * @example
 * ```ts
 * show(...plots.driveCourse(drive(openTrack("data/first-light/track.csv", mount), mount)));
 * ```
 */
export function driveCourse(result: DriveResult): readonly Figure[] {
  return driveFigures(result).map(noted);
}

/**
 * The terms that changed over the months, each with its trend; where none did, the one that comes nearest to it.
 *
 * @example
 * ```ts
 * show(...plots.overMonths(months([march, april, june], mount)));
 * ```
 */
export function overMonths(result: Months): readonly Figure[] {
  return monthsFigures(result).map(noted);
}

/**
 * A figure as a still picture, in the theme in force when none is given.
 *
 * @example
 * ```ts
 * plots.figureSvg(plots.residualSky(fit)).startsWith("<svg") // true
 * ```
 */
export function figureSvg(figure: Figure, theme: Theme = currentTheme(), options: SvgOptions = {}): string {
  return plainFigureSvg(figure, theme, options);
}
