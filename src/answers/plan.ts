/** Which stars to sight next, and when it is enough. */
import { fitMount } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import type { Night } from "../night/night.js";
import type { PlanOptions } from "../plan/options.js";
import { type Plan, planStars as plainPlanStars } from "../plan/plan.js";
import { planReport } from "../report/plan-report.js";
import { question } from "./answer.js";
import { type Moment, momentMs } from "./moment.js";
import { printable } from "./printable.js";
import { knownTonight } from "./standing.js";
import { flag, needed, number, positive, text, time } from "./takes.js";

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
  const plan = plainPlanStars(mount, momentMs(from, mount.site), options, { night: begun, standing });
  return printable({ ...plan }, () => planReport(plan));
}

/** `polewright plan --from TIME`. */
export const plan = question({
  name: "plan",
  asks: "which stars to sight next, by what they teach",
  example: "polewright plan --from 2026-03-14T17:50:00Z --stars 12 --mount my-telescope/mount.json",
  takes: {
    mount: text("file", "the mount file (default: mount.json beside --night, or in this folder)"),
    from: needed(time("when the first star is sighted, ISO 8601 with its zone (or the site's), or now")),
    stars: positive("number", "how many stars"),
    night: text("file", "tonight's sightings so far"),
    model: text("file", "a kept model"),
    toLearn: text("term", "pole (default) or the term that the stars are to teach"),
    minutes: positive("number", "from one sighting to the next"),
    faintest: number("magnitude", "the faintest star"),
    teach: flag("the star that teaches most first, whatever the walking"),
    daylight: flag("stars while the Sun is up, never within 30° of it"),
  },
  ask(
    { mount: mountPath, from, stars, night: nightPath, model, toLearn, minutes, faintest, teach, daylight },
    read,
  ) {
    const known = knownTonight(read, mountPath, nightPath, model);
    const { mount, night, standing } = known;
    const chosen = {
      stars,
      toLearn,
      minutesBetween: minutes,
      faintest,
      order: teach ? "teach" : undefined,
      daylight: daylight || undefined,
    } as PlanOptions;
    return { known, plan: plainPlanStars(mount, momentMs(from, mount.site), chosen, { standing, night }) };
  },
  say: ({ plan }) => [planReport(plan)],
  draw: async ({ known, plan }) => {
    const { planSky } = await import("../plots/plan-sky.js");
    return [planSky(plan, known.mount.site.latitude, known.mount.limits)];
  },
  json: ({ plan }) => ({ ...plan }),
  notes: ({ known }) => known.notes,
});
