/** Clocks on the wall against Python's zoneinfo: test/reference/zones.csv. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { InputError } from "../../src/errors.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { formatTime, parseTime } from "../../src/sky/time.js";
import { isTimeZone, momentsOfClock, wallClock, zoneOffsetMinutes } from "../../src/sky/zone.js";

const rows = readFileSync(new URL("../reference/zones.csv", import.meta.url), "utf8")
  .split("\n")
  .slice(2)
  .filter((line) => line !== "")
  .map((line) => {
    const [zone, clock, moments] = line.split(",") as [string, string, string];
    return { zone, clock, moments: moments === "" ? [] : moments.split(" ").map(Number) };
  });

const codeOf = (work: () => unknown): string => {
  try {
    work();
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults[0]!.code;
    throw problem;
  }
  return "";
};

test("clock times are the moments that zoneinfo says: one, none or two", () => {
  expect(new Set(rows.map(({ moments }) => moments.length))).toEqual(new Set([0, 1, 2]));
  for (const { zone, clock, moments } of rows) {
    expect(momentsOfClock(zone, Date.parse(`${clock}Z`)), `${zone} ${clock}`).toEqual(moments);
  }
});

test("a time without a zone is taken where its clocks show it once, and refused where never or twice", () => {
  for (const { zone, clock, moments } of rows) {
    const code = codeOf(() => parseTime(clock, zone));
    expect(code, `${zone} ${clock}`).toBe(["time-missing", "", "time-doubled"][moments.length]);
    if (moments.length === 1) expect(parseTime(clock, zone)).toBe(moments[0]);
    // What is written with its zone is never touched.
    expect(parseTime(`${clock}Z`, zone)).toBe(Date.parse(`${clock}Z`));
  }
  expect(codeOf(() => parseTime("2026-03-14T21:22:10"))).toBe("time-without-zone");
});

test("what clocks show leads back to the moment", () => {
  for (const { zone, moments } of rows) {
    for (const timeMs of moments) {
      const { date, time, offset } = wallClock(timeMs, zone);
      expect(parseTime(`${date}T${time}${offset}`)).toBe(timeMs);
    }
  }
  expect(wallClock(parseTime("2026-03-14T23:30:00Z"), null)).toEqual({
    date: "2026-03-14",
    time: "23:30:00",
    offset: "+00:00",
  });
});

test("a doubled time is said with both offsets to choose from, and either is then taken", () => {
  try {
    parseTime("2026-10-25T02:30:00", "Europe/Berlin");
    expect.unreachable();
  } catch (problem) {
    const { allowed } = (problem as InputError).faults[0]!;
    expect(allowed).toContain("+02:00 (before the clocks were put back) or +01:00 (after)");
  }
  const first = parseTime("2026-10-25T02:30:00+02:00", "Europe/Berlin");
  expect(parseTime("2026-10-25T02:30:00+01:00", "Europe/Berlin") - first).toBe(3_600_000);
});

test("zones are IANA names", () => {
  for (const name of ["Africa/Johannesburg", "America/Argentina/Buenos_Aires", "UTC", "Etc/GMT+5"])
    expect(isTimeZone(name), name).toBe(true);
  for (const name of ["+02:00", "Africa/Johanesburg", "", "Berlin ", "local"])
    expect(isTimeZone(name), name).toBe(false);
  expect(zoneOffsetMinutes("Asia/Kolkata", 0)).toBe(330);
});

test("the mount file's zone is taken for a night's times, and another word refused", () => {
  const file = (timeZone: string) => ({
    name: "A school",
    site: { latitude: -30, longitude: 20, timeZone },
    readings: { hourAngle: { as: "degrees", smallest: 0.1 }, declination: { as: "degrees", smallest: 0.1 } },
  });
  const mount = parseMount(file("Africa/Johannesburg"));
  const text =
    "time,star,hourAngle,declination\n2026-03-14T21:22:10,Canopus,20,-52.7\n2026-03-14T19:30:00Z,Sirius,10,-16.7\n";
  const { night } = readNight(text, mount);
  expect(night.sightings.map(({ timeMs }) => formatTime(timeMs))).toEqual([
    "2026-03-14T19:22:10Z",
    "2026-03-14T19:30:00Z",
  ]);
  const { timeZone: _, ...site } = mount.site;
  expect(codeOf(() => readNight(text, { ...mount, site }))).toBe("time-without-zone");
  try {
    parseMount(file("South Africa"));
    expect.unreachable();
  } catch (problem) {
    expect((problem as InputError).faults.map(({ path }) => path)).toEqual(["site.timeZone"]);
  }
});
