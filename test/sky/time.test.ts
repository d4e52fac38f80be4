import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../src/errors.js";
import { formatTime, parseTime, readTime, TIME_RANGE_MS } from "../../src/sky/time.js";

function code(text: string): string {
  try {
    parseTime(text);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    expect(error.faults).toHaveLength(1);
    expect(error.faults[0]!.found).toBeDefined();
    return error.faults[0]!.code;
  }
  return "none";
}

describe("parseTime", () => {
  it.each([
    // The same moment in the forms of ISO 8601-1:2019, 5.4, and RFC 3339, 5.6.
    ["2026-03-14T19:22:10Z"],
    ["2026-03-14T19:22:10.000Z"],
    ["2026-03-14T19:22:10,0Z"],
    ["2026-03-14t19:22:10z"],
    ["2026-03-14 19:22:10Z"],
    ["2026-03-14 19:22:10 Z"],
    [" 2026-03-14T19:22:10Z "],
    ["2026-03-14T21:22:10+02:00"],
    ["2026-03-14T21:22:10+0200"],
    ["2026-03-14T21:22:10+02"],
    ["2026-03-14T09:52:10-09:30"],
    ["2026-03-14T09:52:10\u221209:30"],
    ["2026-03-15T00:52:10+05:30"],
    ["2026-03-14T19:22:10-00:00"],
    ["20260314T192210Z"],
    ["20260314T212210+0200"],
  ])("reads %s", (text) => {
    expect(parseTime(text)).toBe(Date.UTC(2026, 2, 14, 19, 22, 10));
  });

  it("reads minutes, fractions and the end of a day", () => {
    expect(parseTime("2026-03-14T19:22Z")).toBe(Date.UTC(2026, 2, 14, 19, 22));
    expect(parseTime("2026-03-14T19:22:10.5Z")).toBe(Date.UTC(2026, 2, 14, 19, 22, 10, 500));
    expect(parseTime("2026-03-14T19:22:10,25Z")).toBe(Date.UTC(2026, 2, 14, 19, 22, 10, 250));
    expect(parseTime("2026-03-14T24:00:00Z")).toBe(Date.UTC(2026, 2, 15));
    expect(parseTime("2028-02-29T00:00:00Z")).toBe(Date.UTC(2028, 1, 29));
    expect(parseTime("2000-02-29T00:00:00Z")).toBe(Date.UTC(2000, 1, 29));
  });

  it("takes a leap second as the second after it", () => {
    // The last leap second, IERS Bulletin C 52.
    expect(parseTime("2016-12-31T23:59:60Z")).toBe(Date.UTC(2017, 0, 1));
    expect(parseTime("2016-12-31T23:59:60.5Z")).toBe(Date.UTC(2017, 0, 1, 0, 0, 0, 500));
    expect(parseTime("2017-01-01T05:29:60+05:30")).toBe(Date.UTC(2017, 0, 1));
  });

  it.each([
    "2026-03-14T19:22:10",
    "2026-03-14 19:22",
    "20260314T192210",
    "2026-03-14T19:22:10 CET",
    "2026-03-14T19:22:10 local",
  ])("never guesses a zone: %s", (text) => {
    expect(code(text)).toBe("time-without-zone");
  });

  it.each([
    "",
    "yesterday",
    "14.03.2026 19:22:10 Z",
    "2026-03-14",
    "20260314",
    "2026-3-14T19:22:10Z",
    "2026-02-29T19:22:10Z",
    "1900-02-29T00:00:00Z",
    "2026-13-01T19:22:10Z",
    "2026-00-10T19:22:10Z",
    "2026-04-31T19:22:10Z",
    "2026-03-00T19:22:10Z",
    "2026-03-14T25:00:00Z",
    "2026-03-14T24:00:01Z",
    "2026-03-14T19:60:10Z",
    "2026-03-14T19:22:61Z",
    "2026-03-14T19:22:60Z",
    "2026-03-14T23:59:60Z",
    "2016-12-31T23:59:60+01:00",
    "2026-03-14T19:22:10+15:00",
    "2026-03-14T19:22:10+02:60",
    "2026-03-14T19:22:10+2",
    "2026-03-14T19:22:10Z+02:00",
    "2026-03-14T19Z",
    "2026-03-14T19:22:10.Z",
    "2026-W11-6T19:22:10Z",
    "1773516130000",
    "2026-03-14T19:22:10Z\n2026-03-14T19:22:10Z",
  ])("refuses %j", (text) => {
    expect(code(text)).toBe("time-not-iso");
  });

  it.each(["1899-12-31T23:59:59Z", "2101-01-01T00:00:00Z", "0026-03-14T19:22:10Z", "9999-01-01T00:00:00Z"])(
    "refuses %s as out of range",
    (text) => {
      expect(code(text)).toBe("time-out-of-range");
    },
  );

  it("gives the fault as data where asked", () => {
    expect(readTime("2026-03-14T19:22:10")).toMatchObject({
      code: "time-without-zone",
      found: "2026-03-14T19:22:10",
    });
  });
});

describe("formatTime", () => {
  it("writes UTC, with a fraction only where there is one", () => {
    expect(formatTime(Date.UTC(2026, 2, 14, 19, 22, 10))).toBe("2026-03-14T19:22:10Z");
    expect(formatTime(Date.UTC(2026, 2, 14, 19, 22, 10, 50))).toBe("2026-03-14T19:22:10.050Z");
    expect(formatTime(0.6)).toBe("1970-01-01T00:00:00.001Z");
  });

  it.each([Number.NaN, Number.POSITIVE_INFINITY, TIME_RANGE_MS[0] - 1, TIME_RANGE_MS[1] + 1])(
    "refuses %s",
    (time) => {
      expect(() => formatTime(time)).toThrow(InputError);
    },
  );

  it("is undone by parseTime", () => {
    const times = fc.integer({ min: TIME_RANGE_MS[0], max: TIME_RANGE_MS[1] - 1 });
    fc.assert(
      fc.property(times, (time) => parseTime(formatTime(time)) === time),
      { seed: 14, numRuns: 1000 },
    );
  });
});
