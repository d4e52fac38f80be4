/**
 * The sky over a night or a season: frames for many moments, fast.
 */
import { daysSinceJ2000, EARTH_STATE_LENGTH, type EarthState, earthState } from "./earth.js";
import type { Site } from "./site.js";
import { frameFromEarth, type SkyFrame, siteConstants } from "./sky-frame.js";

/** Frames at any moment, made from the Earth's state at whole days. */
export interface SkyOverNight {
  readonly site: Site;
  /** The frame at a time, milliseconds of UTC since 1970; as {@link skyFrame} gives it to 0.01″. */
  at(timeMs: number): SkyFrame;
}

/**
 * Frames for many moments: precession, nutation and the Earth's motion are computed once a day and interpolated by a cubic
 * through four days; the Earth's rotation is exact at every moment. Frames differ from {@link skyFrame} by less than
 * 0.01″, and the same moment gives the same frame in whatever span.
 *
 * The span is only prepared: moments outside it are answered too, their days computed when first asked for.
 *
 * @param fromMs - first moment, milliseconds of UTC since 1970
 * @param toMs - last moment
 * @throws {@link InputError} `air-out-of-range`
 * @example
 * ```ts
 * const sky = skyOverNight(parseTime("2026-03-14T17:00Z"), parseTime("2026-03-15T03:00Z"), site);
 * const seen = observeIn(sky.at(parseTime("2026-03-14T19:22:10Z")), findStar("Canopus"));
 * ```
 */
export function skyOverNight(fromMs: number, toMs: number, site: Site): SkyOverNight {
  const constants = siteConstants(site);
  const days = new Map<number, EarthState>();
  const state = new Float64Array(EARTH_STATE_LENGTH);
  const day = (number: number): EarthState => {
    let known = days.get(number);
    if (known === undefined) {
      known = earthState(number);
      days.set(number, known);
    }
    return known;
  };
  for (let number = Math.floor(daysSinceJ2000(fromMs)) - 1; number <= daysSinceJ2000(toMs) + 2; number++)
    day(number);

  let prepared = Math.floor(daysSinceJ2000(fromMs));
  let before = day(prepared - 1);
  let first = day(prepared);
  let second = day(prepared + 1);
  let after = day(prepared + 2);
  return {
    site,
    at(timeMs: number): SkyFrame {
      const now = daysSinceJ2000(timeMs);
      const whole = Math.floor(now);
      const t = now - whole;
      if (whole !== prepared) {
        before = day(whole - 1);
        first = day(whole);
        second = day(whole + 1);
        after = day(whole + 2);
        prepared = whole;
      }
      // Lagrange's cubic through the days -1, 0, 1, 2.
      const weightBefore = (-t * (t - 1) * (t - 2)) / 6;
      const weightFirst = ((t + 1) * (t - 1) * (t - 2)) / 2;
      const weightSecond = (-(t + 1) * t * (t - 2)) / 2;
      const weightAfter = ((t + 1) * t * (t - 1)) / 6;
      for (let place = 0; place < EARTH_STATE_LENGTH; place++) {
        state[place] =
          weightBefore * before[place]! +
          weightFirst * first[place]! +
          weightSecond * second[place]! +
          weightAfter * after[place]!;
      }
      return frameFromEarth(timeMs, constants, state);
    },
  };
}
