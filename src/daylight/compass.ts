/**
 * North by a compass: what the needle is off from true north, and how far to trust it.
 */
import geomagnetism from "geomagnetism";
import type { Site } from "../sky/site.js";
import { formatTime } from "../sky/time.js";

/** The magnetic field at a site and time. */
export interface MagneticDeclination {
  /** Where the needle points, from true north, east positive, degrees. */
  readonly declinationDeg: number;
  /** 1σ of the model itself, degrees: crust and storms are not in it. */
  readonly modelUncertaintyDeg: number;
  /** The part of the field that pulls the needle, nanotesla. */
  readonly horizontalNT: number;
  readonly inclinationDeg: number;
  /** The model that was used, for instance `WMM-2025`. */
  readonly model: string;
  /** The dates that the model is good for, ISO 8601. */
  readonly validFrom: string;
  readonly validUntil: string;
  /** Set where the date is outside all models: the nearest date that one covers was taken. */
  readonly warning: string | null;
}

/**
 * The dates that the package's models cover together: its models of 2015, 2020 and 2025 (World Magnetic Model, NOAA
 * NCEI and British Geological Survey), UTC.
 */
export const COMPASS_DATES_MS: readonly [number, number] = [
  Date.UTC(2014, 11, 15, 7),
  Date.UTC(2029, 10, 13, 3),
];

/**
 * A model's own error of the declination, degrees: √(0.26² + (5625 / H)²), H in nanotesla (from memory: the error model
 * published with the World Magnetic Model 2020; that of 2025 is a little smaller).
 */
function modelUncertainty(horizontalNT: number): number {
  return Math.hypot(0.26, 5625 / horizontalNT);
}

/** How fast the declination's change itself goes astray beyond the model's dates, degrees a year: common practice, no source. */
const ASTRAY_DEG_A_YEAR = 0.1;
const YEAR_MS = 365.25 * 86_400_000;

/**
 * The magnetic declination at a site and time, by the World Magnetic Model.
 *
 * @param timeMs - milliseconds of UTC since 1970; outside of the models' dates the nearest covered date is taken, with a warning
 * @example
 * ```ts
 * magneticDeclination(site, parseTime("2026-03-14T10:00:00Z")).declinationDeg
 * ```
 */
export function magneticDeclination(site: Site, timeMs: number): MagneticDeclination {
  const [fromMs, toMs] = COMPASS_DATES_MS;
  const coveredMs = Math.min(toMs, Math.max(fromMs, timeMs));
  const model = geomagnetism.model(new Date(coveredMs), { allowOutOfBoundsModel: false });
  const field = model.point([site.latitude, site.longitude, site.heightM / 1000]);
  const yearsAway = Math.abs(timeMs - coveredMs) / YEAR_MS;
  return {
    declinationDeg: field.decl,
    modelUncertaintyDeg: Math.hypot(modelUncertainty(field.h), ASTRAY_DEG_A_YEAR * yearsAway),
    horizontalNT: field.h,
    inclinationDeg: field.incl,
    model: model.name,
    validFrom: formatTime(model.start_date.getTime()),
    validUntil: formatTime(model.end_date.getTime()),
    warning:
      coveredMs === timeMs
        ? null
        : `No model of the Earth's field covers this date; the value is for ${formatTime(coveredMs).slice(0, 10)} and goes astray by about ${ASTRAY_DEG_A_YEAR}° a year. Use the shadow.`,
  };
}
