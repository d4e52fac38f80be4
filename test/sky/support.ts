import { readFileSync } from "node:fs";
import { parse } from "csv-parse/sync";
import { ARCSECOND, DEGREE } from "../../src/angles.js";
import { type HourAngleDirection, hourAngleVector } from "../../src/sky/horizon-frame.js";
import type { Site } from "../../src/sky/site.js";
import { separation } from "../../src/vectors.js";

/** The root of the project, for its tables. */
export const root = new URL("../../", import.meta.url);

/** A table with a header and `#` comments. */
export function readTable(path: string): Record<string, string>[] {
  return parse(readFileSync(new URL(path, root), "utf8"), {
    columns: true,
    comment: "#",
    comment_no_infix: true,
  });
}

export function number(row: Record<string, string>, column: string): number {
  const value = Number(row[column]);
  if (row[column] === undefined || row[column] === "" || !Number.isFinite(value))
    throw new Error(`no figure in ${column}`);
  return value;
}

/** The angle between two hour-angle directions, arcseconds. */
export function apart(a: HourAngleDirection, b: HourAngleDirection): number {
  return separation(hourAngleVector(a), hourAngleVector(b)) / ARCSECOND;
}

export function hourAngleDirection(hourAngleDeg: number, declinationDeg: number): HourAngleDirection {
  return { hourAngle: hourAngleDeg * DEGREE, declination: declinationDeg * DEGREE };
}

/** The invented Nowhere School. */
export const nowhereSchool: Site = {
  latitude: -30,
  longitude: 20,
  heightM: 1000,
  pressureHPa: 900,
  temperatureC: 12,
  dut1S: 0,
};
