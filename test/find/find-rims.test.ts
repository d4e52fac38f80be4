/**
 * The rims of finding and of a class evening: what may be asked, what is chosen when only one may be shown, what the Moon and
 * the twilight take away, and what is said of each.
 */
import { describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { findTargets } from "../../src/find/find.js";
import { coordinatesFromText, targetNamed } from "../../src/find/target.js";
import { timetable } from "../../src/find/timetable.js";
import { LOOK_AHEAD_MS, standsTonight, tonightTargets } from "../../src/find/tonight-list.js";
import type { Mount } from "../../src/mount/mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { unsightedMount, usualSide } from "../../src/pointing/known-mount.js";
import { shaftsTowards } from "../../src/pointing/shafts.js";
import { sunWatch } from "../../src/pointing/sun-safety.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { hourAngleVector } from "../../src/sky/horizon-frame.js";
import { skyFrame } from "../../src/sky/sky-frame.js";
import { skyOverNight } from "../../src/sky/sky-over-night.js";
import { moonDirection } from "../../src/sky/sun-and-moon.js";
import { separation } from "../../src/vectors.js";

const mountAt = (latitude: number, more: object = {}): Mount =>
  parseMount({
    name: "invented",
    site: { latitude, longitude: 10, pressureHPa: 1000, temperatureC: 5 },
    readings: {
      hourAngle: { as: "counts", perTurn: 16_384 },
      declination: { as: "counts", perTurn: 16_384, sense: -1 },
    },
    limits: { altitudeDeg: 20 },
    camera: { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 },
    ...more,
  });
const north = mountAt(48);
const MINUTE = 60_000;
const HOUR_MS = 60 * MINUTE;
const DAY = 24 * HOUR_MS;
const seenAt = (name: string, timeMs: number, mount: Mount) =>
  targetNamed(name).observe(skyFrame(timeMs, mount.site));

/** What is shown where there is one slot only. */
const only = (names: readonly string[], fromMs: number, mount = north): string | null =>
  timetable(mount, null, fromMs, fromMs + 10 * MINUTE, names, 10).slots[0]!.entry?.target ?? null;

describe("one slot for two", () => {
  it("near the Moon a nebula gives way to one that is far from it; a star does not", () => {
    const pairs = [
      ["M 45", "M 44"],
      ["M 1", "M 44"],
      ["M 35", "M 81"],
    ] as const;
    let cases = 0;
    for (let day = 0; day < 60; day++) {
      const fromMs = Date.UTC(2026, 0, 10, 21) + day * DAY;
      const middle = fromMs + 5 * MINUTE;
      const moon = moonDirection(middle, north.site);
      const far = (name: string): number =>
        separation(hourAngleVector(seenAt(name, middle, north)), hourAngleVector(moon)) / DEGREE;
      for (const [a, b] of pairs) {
        if ([a, b].some((name) => only([name], fromMs) === null)) continue;
        const near = [a, b].filter((name) => moon.altitude > 0 && far(name) < 25);
        if (near.length !== 1) continue;
        const other = near[0] === a ? b : a;
        if (Math.abs(far(near[0]!) - 25) < 0.5 || Math.abs(far(other) - 25) < 0.5) continue;
        cases++;
        for (const names of [
          [a, b],
          [b, a],
        ])
          expect(only(names, fromMs)!.startsWith(other), `${near[0]} ${new Date(fromMs).toISOString()}`).toBe(
            true,
          );
      }
      // Stars do not drown: as long as both may be shown the first that was asked for is.
      if (moon.altitude > 0 && far("Aldebaran") < 25 && only(["Aldebaran"], fromMs) !== null)
        expect(only(["Aldebaran", "Capella"], fromMs)).not.toBe(only(["Capella", "Aldebaran"], fromMs));
    }
    expect(cases).toBeGreaterThan(4);
  });

  it.each([
    // The faintest that shows, by the Sun's altitude: the timetable's own table, common practice, no source.
    ["Sirius", -1.46, -4.54],
    ["Procyon", 0.37, -6.37],
    ["Regulus", 1.36, -7.36],
    ["Zosma", 2.56, -8.56],
  ])("%s gives way in the twilight until the Sun is low enough for it", (star, magnitude, sunDeg) => {
    // Against what shows always: the Moon, where it is up.
    const day = Date.UTC(2026, 2, 28);
    expect(Math.abs(targetNamed(star).magnitude(day)! - magnitude)).toBeLessThan(0.05);
    let [before, after] = [0, 0];
    for (let minute = 0; minute < 120; minute += 2) {
      const fromMs = day + 17.5 * HOUR_MS + minute * MINUTE;
      const { altitudeDeg, up } = sunWatch(fromMs + 5 * MINUTE, north.site);
      if (up || only([star], fromMs) === null || only(["Moon"], fromMs) === null) continue;
      const chosen = [only([star, "Moon"], fromMs), only(["Moon", star], fromMs)];
      const alike = chosen[0] !== chosen[1];
      if (altitudeDeg > sunDeg + 0.3) {
        expect(chosen).toEqual(["Moon", "Moon"]);
        before++;
      }
      if (altitudeDeg < sunDeg - 0.3) {
        expect(alike, `${altitudeDeg}`).toBe(true);
        after++;
      }
    }
    expect(before).toBeGreaterThan(0);
    expect(after).toBeGreaterThan(0);
  });
});

describe("an evening", () => {
  const fromMs = Date.UTC(2026, 2, 14, 17, 30);
  const fault = (minutes: number, lengthMs: number): string => {
    try {
      timetable(north, null, fromMs, fromMs + lengthMs, ["Capella"], minutes);
    } catch (problem) {
      if (problem instanceof InputError) return problem.faults.map(({ code }) => code).join();
      throw problem;
    }
    return "";
  };
  it.each([
    [1, 96 * MINUTE, ""],
    [1, 97 * MINUTE, "evening-times"],
    [0.99, HOUR_MS, "slot-length"],
    [120, 2 * HOUR_MS, ""],
    [120, 2 * HOUR_MS - 1000, "evening-times"],
    [121, 4 * HOUR_MS, "slot-length"],
    [30, DAY, ""],
    [30, DAY + 1000, "evening-times"],
    [10, 0, "evening-times"],
  ])("of %f minutes each in %i ms: %s", (minutes, lengthMs, code) => {
    expect(fault(minutes, lengthMs)).toBe(code);
  });

  it("is parted into whole slots; each says whether it is twilight, and the way of both shafts from the one before", () => {
    const lengthMs = 2 * HOUR_MS + 25 * MINUTE;
    const made = timetable(north, null, fromMs, fromMs + lengthMs, "showpieces", 20);
    expect(made.slots).toHaveLength(7);
    expect(Date.parse(made.until)).toBe(fromMs + 140 * MINUTE);
    let before: { hourAngle: number; declination: number } | null = null;
    made.slots.forEach(({ from, middle, until, twilight, entry }, k) => {
      expect([from, middle, until].map(Date.parse)).toEqual(
        [20 * k, 20 * k + 10, 20 * k + 20].map((minute) => fromMs + minute * MINUTE),
      );
      const middleMs = Date.parse(middle);
      expect(twilight).toBe(sunWatch(middleMs, north.site).altitudeDeg > -18);
      if (entry === null) return;
      const seen = seenAt(entry.target.replace(/ \(.*/, ""), middleMs, north);
      expect(entry.altitudeDeg).toBeCloseTo(seen.altitude / DEGREE, 3);
      const shafts = shaftsTowards(north, seen, usualSide(north, seen.hourAngle));
      if (before === null) expect(entry.slewDeg).toBeNull();
      else {
        const way =
          Math.abs(shafts.hourAngle - before.hourAngle) + Math.abs(shafts.declination - before.declination);
        expect(entry.slewDeg!).toBeCloseTo(way / DEGREE, 2);
      }
      before = shafts;
    });
    const twilights = made.slots.map(({ twilight }) => twilight);
    expect(new Set(twilights).size).toBe(2);
  });

  it("readings run on through lower culmination, and a right ascension through 24 hours", () => {
    const far = mountAt(66, { limits: { altitudeDeg: 10, hourAngleHours: [-12, 12] } });
    const begins = Date.UTC(2026, 0, 5, 16);
    const rates = Array.from({ length: 24 }, (_, hour) => {
      const at = begins + hour * 30 * MINUTE;
      return timetable(far, null, at, at + 10 * MINUTE, ["Dubhe"], 10).slots[0]!.entry;
    }).flatMap((entry) => (entry === null ? [] : [entry.aMinute.hourAngle]));
    expect(rates.length).toBeGreaterThan(20);
    // A sidereal day is 1436.07 minutes; refraction changes it by parts in a hundred.
    for (const rate of rates) expect(rate / (16_384 / 1436.07)).toBeCloseTo(1, 1);
    const dial = mountAt(48, {
      readings: {
        hourAngle: { as: "rightAscension", smallest: 0.001 },
        declination: { as: "degrees", smallest: 0.01 },
      },
    });
    for (const star of ["Alpheratz", "Caph", "Capella"]) {
      const at = Date.UTC(2026, 10, 14, 19);
      const { entry } = timetable(dial, null, at, at + 10 * MINUTE, [star], 10).slots[0]!;
      expect(Math.abs(entry!.aMinute.hourAngle)).toBeLessThan(1e-4);
      expect(Math.abs(entry!.aMinute.declination)).toBeLessThan(1e-2);
    }
  });

  it("says why what was asked for is not in it", () => {
    const asked = ["Canopus", "Capella", "Aldebaran", "Sun"];
    const two = timetable(north, null, fromMs + HOUR_MS, fromMs + HOUR_MS + 10 * MINUTE, asked, 10);
    const why = (name: string) => two.notShown.find(({ target }) => target.includes(name))?.why;
    expect(why("Canopus")).toMatch(/horizon|altitude|declination/);
    const shown = two.slots[0]!.entry!.target;
    expect(why(shown === "Capella" ? "Aldebaran" : "Capella")).toContain("not enough slots");
    expect(why("Sun")).toContain("never found");
    const day = timetable(north, null, fromMs - 5 * HOUR_MS, fromMs - 4 * HOUR_MS, ["Capella"], 20);
    expect(day.notShown[0]!.why).toBe("the Sun is up");
    expect(day.slots.every(({ entry }) => entry === null)).toBe(true);
    expect(day.notes.map(({ message }) => message).join(" ")).toContain("while the Sun is up");
  });
});

describe("how things stand tonight", () => {
  const nowMs = Date.UTC(2026, 2, 14, 19);
  const known = unsightedMount(north);
  const standOf = standsTonight(known, skyOverNight(nowMs, nowMs + LOOK_AHEAD_MS, north.site), nowMs, false);
  const targets = tonightTargets();

  it("now, later or not tonight: with the times that belong to each", () => {
    const counts = { now: 0, later: 0, "not tonight": 0 };
    for (const target of targets) {
      const stand = standOf(target);
      counts[stand.when]++;
      expect(stand.altitudeDeg).toBeCloseTo(target.observe(skyFrame(nowMs, north.site)).altitude / DEGREE, 3);
      expect(stand.fromMs !== null, target.label).toBe(stand.when === "later");
      expect(stand.why === "", target.label).toBe(stand.when === "now");
      if (stand.when === "not tonight") expect(stand.untilMs).toBeNull();
      if (stand.untilMs !== null) expect(stand.untilMs).toBeGreaterThan(stand.fromMs ?? nowMs);
    }
    for (const count of Object.values(counts)) expect(count).toBeGreaterThan(10);
  });

  it("are the stars with a name of magnitude 2 and brighter, all of them", () => {
    const stars = targets.filter(({ kind }) => kind === "star").map(({ label }) => label);
    const bright = catalogueStars().filter(({ name, vMag }) => name !== "" && vMag <= 2);
    expect(stars.sort()).toEqual(bright.map(({ label }) => label).sort());
    expect(stars).toContain("Sirius");
    expect(stars).not.toContain("Zosma");
  });
});

describe("what is found", () => {
  it("says how far the Moon is while it is up, and nothing of it for itself or while it is down", () => {
    let [up, down] = [0, 0];
    for (let day = 0; day < 30; day += 3) {
      const at = Date.UTC(2026, 2, 1, 21) + day * DAY;
      const moon = moonDirection(at, north.site);
      const [capella, itself] = findTargets(north, null, at, ["Capella", "Moon"]).found;
      expect(itself!.moonDeg).toBeNull();
      if (moon.altitude > 0) {
        up++;
        const apart = separation(hourAngleVector(seenAt("Capella", at, north)), hourAngleVector(moon));
        expect(capella!.moonDeg!).toBeCloseTo(apart / DEGREE, 2);
      } else {
        down++;
        expect(capella!.moonDeg).toBeNull();
      }
    }
    expect(up).toBeGreaterThan(2);
    expect(down).toBeGreaterThan(2);
  });

  it("coordinates: minutes and seconds below sixty, the sky's rims, and a label with the sign", () => {
    const refused = (text: string): boolean => {
      try {
        coordinatesFromText(text);
      } catch (problem) {
        return problem instanceof InputError;
      }
      return false;
    };
    expect(coordinatesFromText("01h59m59.9s -89d59m59s")!.decDeg).toBeCloseTo(-(90 - 1 / 3600), 9);
    for (const text of [
      "01h60m00s +10d00m",
      "01h00m60s +10d00m",
      "01h00m +10d60m",
      "24h00m +10d00m",
      "10.5 90.1",
    ])
      expect(refused(text), text).toBe(true);
    for (const text of ["0.0 -90", "359.999 90", "00h00m00s +00d00m"])
      expect(refused(text), text).toBe(false);
    expect(targetNamed("10.5 -0.25").label).toBe("10.500° −0.250°");
    expect(targetNamed("10.5 +0.25").label).toBe("10.500° +0.250°");
  });

  it("a star is described by its letter, and by its range where it varies", () => {
    expect(targetNamed("Sirius").description).toBe("star, α CMa");
    // 2.1 to 3.4 (General Catalogue of Variable Stars).
    expect(targetNamed("Algol").description).toMatch(/^star, β Per, variable from 2\.1 to 3\.\d$/);
    const plain = catalogueStars().find(({ name, bayer }) => name !== "" && bayer === "")!;
    expect(targetNamed(plain.name).description).toMatch(/^star(, variable.*)?$/);
    const nameless = catalogueStars().find(({ name, bayer }) => name === "" && bayer !== "")!;
    expect(targetNamed(nameless.bayer).description).toMatch(/^star(, variable.*)?$/);
  });
});
