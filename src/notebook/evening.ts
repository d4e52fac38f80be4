/**
 * The evening's questions as notebooks ask them: an opened night or a fit, and a time as it is written down.
 */

import {
  type GoodEnough,
  type GoodEnoughOptions,
  goodEnough as plainGoodEnough,
} from "../exposure/good-enough.js";
import { type ClassList, classList as plainClassList, type WholeList } from "../find/class-list.js";
import { type Finding, type FindOptions, findTargets as plainFindTargets } from "../find/find.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";
import type { PlanOptions } from "../plan/options.js";
import { type Plan, planStars as plainPlanStars } from "../plan/plan.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { classListReport } from "../report/class-list-report.js";
import { goodEnoughReport } from "../report/exposure-report.js";
import { findReport } from "../report/find-report.js";
import { planReport } from "../report/plan-report.js";
import { type Moment, momentMs } from "./moment.js";
import { printable } from "./printable.js";

/** With fewer sightings than this the fit is not trusted to predict readings. */
const FITTED_FROM = 4;

/**
 * Plans which stars to sight, in which order, and says after which one more would not change the turns.
 *
 * @param night - an opened night (its sightings count, its stars are not proposed again), or a mount alone
 * @param from - when the first star is sighted
 * @param options - how many stars and how they are chosen
 * @throws InputError `sun-up` while the Sun is up, `no-stars` when none may be sighted, and faulty options
 * @example
 * ```ts
 * planStars(openNight("data/first-light").mount, "2026-03-14T17:50:00Z", { stars: 8 }).stars.length // 8
 * ```
 */
export function planStars(night: Night | Mount, from: Moment, options: PlanOptions = {}): Plan {
  const begun = "sightings" in night ? night : null;
  const mount = "sightings" in night ? night.mount : night;
  const used = begun?.sightings.filter((sighting) => sighting.use).length ?? 0;
  const fit = begun !== null && used >= FITTED_FROM ? fitMount(begun) : null;
  const standing = fit?.sound ? fit : null;
  const plan = plainPlanStars(mount, momentMs(from), options, { night: begun, standing });
  return printable({ ...plan }, () => planReport(plan));
}

/**
 * Finds targets: the readings to set, how high they stand, and whether they will be in the field.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @param at - when
 * @param targets - names (`M 42`, `Jupiter`, `Canopus`) or coordinates
 * @throws InputError with a fault for every target that is not known; `sun-refused` for the Sun
 * @example
 * ```ts
 * findTargets(fit, "2026-03-21T19:30:00Z", ["M 42", "Jupiter"]).found.length // 2
 * ```
 */
export function findTargets(
  standing: MountStanding,
  at: Moment,
  targets: readonly string[],
  options: FindOptions = {},
): Finding {
  const finding = plainFindTargets(standing.mount, standing, momentMs(at), targets, options);
  return printable({ ...finding }, () => findReport(finding));
}

/**
 * A list for a class evening: what can be shown, when each is best placed, the readings to set then.
 *
 * @param standing - how the mount stands: a fit or a kept model
 * @param from - when the evening begins
 * @param to - when it ends
 * @param targets - names or coordinates, or `"messier"` for all of Messier's list, or `"showpieces"` for that and the
 *   showpieces outside it, most of them southern
 * @throws InputError `evening-times`, and a fault for every target that is not known
 * @example
 * ```ts
 * classList(fit, "2026-03-21T18:00:00Z", "2026-03-21T20:00:00Z", ["M 42", "M 41"]).entries.length // 2
 * ```
 */
export function classList(
  standing: MountStanding,
  from: Moment,
  to: Moment,
  targets: readonly string[] | WholeList,
): ClassList {
  const list = plainClassList(standing.mount, standing, momentMs(from), momentMs(to), targets);
  return printable({ ...list }, () => classListReport(list));
}

/**
 * Whether the mount is good enough for the camera and the exposure, and what another round would gain.
 *
 * @param fit - the fit
 * @param options - field, exposure, smear, and the turns that were advised
 * @throws InputError `no-field` without a camera, and faulty options
 */
export function goodEnough(fit: MountFit, options: GoodEnoughOptions = {}): GoodEnough {
  const answer = plainGoodEnough(fit, options);
  return printable({ ...answer }, () => goodEnoughReport(answer, fit.mount.name));
}
