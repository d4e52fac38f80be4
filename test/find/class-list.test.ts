import { parse } from "csv-parse/sync";
import { describe, expect, test } from "vitest";
import { DEGREE } from "../../src/angles.js";
import type { InputError } from "../../src/errors.js";
import { classList } from "../../src/find/class-list.js";
import { findTargets } from "../../src/find/find.js";
import { targetNamed } from "../../src/find/target.js";
import { insideLimits } from "../../src/mount/limits.js";
import { classListCsv, classListReport, spreadsheetCell } from "../../src/report/class-list-report.js";
import { reportHtml } from "../../src/report/html.js";
import { deepSkyObjects } from "../../src/sky/deep-sky.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const from = parseTime("2026-03-14T18:30:00Z");
const to = parseTime("2026-03-14T21:30:00Z");

describe("the class evening's list", () => {
  const list = classList(nowhereSchool, null, from, to, "messier");

  test("shows or explains every object of Messier's", () => {
    expect(list.entries.length + list.notShown.length).toBe(110);
    expect(list.entries.length).toBeGreaterThan(30);
    for (const { why } of list.notShown) expect(why.length).toBeGreaterThan(5);
    expect(list.notShown.find((one) => one.target.startsWith("M 81"))!.why).toMatch(
      /below the horizon|declination|altitude/,
    );
  });

  test("shows the southern showpieces too where they are asked for", () => {
    const whole = classList(nowhereSchool, null, from, to, "showpieces");
    const names = whole.entries.map((entry) => entry.target);
    expect(whole.entries.length + whole.notShown.length).toBe(deepSkyObjects().length);
    expect(whole.entries.length).toBeGreaterThan(list.entries.length + 20);
    expect(names).toContain("LMC (Large Magellanic Cloud)");
    expect(names).toContain("NGC 3372 (Carina Nebula)");
  });

  test("is in the order in which things are best placed, what goes down first coming first", () => {
    for (let place = 1; place < list.entries.length; place++) {
      const [before, after] = [list.entries[place - 1]!, list.entries[place]!];
      expect(after.bestMs).toBeGreaterThanOrEqual(before.bestMs);
      if (after.bestMs === before.bestMs) expect(after.untilMs).toBeGreaterThanOrEqual(before.untilMs);
    }
  });

  test("each is at its highest then, inside the limits, with the readings that finding gives", () => {
    for (const entry of list.entries.filter((_, index) => index % 7 === 0)) {
      const target = targetNamed(entry.target.replace(/ \(.*\)$/, ""));
      for (let at = from; at <= to; at += 300_000) {
        const direction = target.observe(skyFrame(at, nowhereSchool.site));
        if (!insideLimits(direction, nowhereSchool.limits)) continue;
        // The sky frames interpolated over the night differ by 0.01″.
        expect(direction.altitude / DEGREE).toBeLessThan(entry.altitudeDeg + 1e-5);
      }
      const [found] = findTargets(nowhereSchool, null, entry.bestMs, [
        entry.target.replace(/ \(.*\)$/, ""),
      ]).found;
      expect(entry.predicted.hourAngleText).toBe(found!.predicted!.hourAngleText);
      expect(entry.predicted.declinationText).toBe(found!.predicted!.declinationText);
    }
  });

  test("leaves out the Sun's neighbourhood and the day", () => {
    const planets = classList(nowhereSchool, null, from, to, ["Venus", "Jupiter"]);
    expect(planets.entries.map((entry) => entry.target)).toEqual(["Jupiter"]);
    expect(planets.notShown[0]!.target).toBe("Venus");
    const noon = parseTime("2026-03-14T11:00:00Z");
    const day = classList(nowhereSchool, null, noon, noon + 3_600_000, ["Achernar"]);
    expect(day.entries).toEqual([]);
    expect(day.notShown[0]!.why).toContain("Sun is up");
    // An afternoon that runs into the night: listed for the night only.
    const dusk = classList(nowhereSchool, null, parseTime("2026-03-14T15:00:00Z"), to, ["Canopus"]);
    expect(Date.parse(dusk.entries[0]!.from)).toBeGreaterThan(parseTime("2026-03-14T16:45:00Z"));
    expect(dusk.notes[0]!.remedy).toMatch(/never look at the sun/i);
  });

  test("the hour-angle reading grows by the sky's rate", () => {
    const [a] = findTargets(nowhereSchool, null, from, ["M 42"]).found;
    const [b] = findTargets(nowhereSchool, null, from + 600_000, ["M 42"]).found;
    // Refraction changes a little in ten minutes: to a twentieth of a count a minute.
    expect((b!.predicted!.hourAngle - a!.predicted!.hourAngle) / 10).toBeCloseTo(list.hourAngleAMinute, 1);
  });

  test("refuses times out of order and names that are not known", () => {
    const codes = (action: () => unknown) => {
      try {
        action();
      } catch (problem) {
        return (problem as InputError).faults.map((fault) => fault.code);
      }
      return [];
    };
    expect(codes(() => classList(nowhereSchool, null, to, from, ["M 42"]))).toEqual(["evening-times"]);
    expect(() => classList(nowhereSchool, null, to, from, ["M 42"])).toThrow(
      "Found: 2026-03-14T21:30:00Z to 2026-03-14T18:30:00Z.",
    );
    expect(codes(() => classList(nowhereSchool, null, from, from + 2 * 86_400_000, ["M 42"]))).toEqual([
      "evening-times",
    ]);
    expect(codes(() => classList(nowhereSchool, null, from, to, ["Sun", "Nowhere"]))).toEqual([
      "sun-refused",
      "unknown-object",
    ]);
  });
});

describe("the list on paper and in a spreadsheet", () => {
  test("CSV is read back by a CSV reader, cell by cell", () => {
    const list = classList(nowhereSchool, null, from, to, ["M 42", "Canopus", "Jupiter", "83.82 -5.39"]);
    const rows: Record<string, string>[] = parse(classListCsv(list), {
      columns: true,
      record_delimiter: "\r\n",
    });
    expect(rows.length).toBe(list.entries.length);
    rows.forEach((row, index) => {
      expect(row.object).toBe(list.entries[index]!.target);
      expect(row.hourAngle).toBe(list.entries[index]!.predicted.hourAngleText);
    });
  });

  test("what a spreadsheet would run is harmless; numbers stay numbers", () => {
    // Common practice against formula injection: an apostrophe before = + - @, tab, carriage return.
    for (const text of [
      "=1+1",
      "+cmd",
      "-2+3",
      "@SUM(A1)",
      "\t=1",
      "\r=1",
      " =1",
      '=HYPERLINK("http://x")',
      "＝1",
    ]) {
      expect(spreadsheetCell(text).replace(/^"/, "")[0]).toBe("'");
    }
    for (const text of ["-1591", "812", "-0.5", "M 42", "05:35"]) expect(spreadsheetCell(text)).toBe(text);
    expect(spreadsheetCell('a "b", c')).toBe('"a ""b"", c"');
  });

  test("a name from the mount file stays text in HTML", () => {
    const mount = { ...nowhereSchool, name: "<script>alert(1)</script>" };
    const html = reportHtml(classListReport(classList(mount, null, from, to, ["M 42"])));
    expect(html).not.toContain("<script>alert");
    expect(html).toContain("&lt;script&gt;");
    expect(html).toContain("M 42 (Orion Nebula)");
  });
});
