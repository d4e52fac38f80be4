import { describe, expect, it } from "vitest";
import { procedureOf } from "../../src/answers/procedure.js";
import { InputError } from "../../src/errors.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { checkedWritten, type WrittenDown } from "../../src/procedures/procedure.js";
import { procedures } from "../../src/procedures/procedures.js";
import { reportText } from "../../src/report/text.js";

const mountAt = (latitude: number, sense: 1 | -1 = 1) =>
  parseMount({
    name: "Procedures",
    site: { latitude, longitude: 20 },
    readings: {
      hourAngle: { as: "counts", perTurn: 21_600, sense },
      declination: { as: "counts", perTurn: 21_600, sense },
    },
  });

function work(name: string, written: WrittenDown, mount = mountAt(-30)) {
  const one = procedures.find((procedure) => procedure.name === name)!;
  return one.work(checkedWritten(one, written), mount);
}
const value = (result: ReturnType<typeof work>, name: string) =>
  result.found.find((one) => one.name.startsWith(name))!;

describe("an encoder", () => {
  it("by a full turn: counts, sense, and how well the marks tell", () => {
    const found = work("encoder-turn", { before: [120], after: [-16_264], radiusMm: [400], markMm: [0.5] });
    expect(value(found, "perTurn").value).toBe(16_384);
    expect(value(found, "sense").value).toBe(-1);
    // √2 · 0.5 mm on a circle of 2513 mm is 4.61 counts of 16 384; two readings of a step each add √(1/6).
    expect(value(found, "perTurn").uncertainty).toBeCloseTo(Math.hypot(4.61, 0.408), 1);
  });

  it("by N · D / d", () => {
    const found = work("encoder-diameter", { steps: [1000], ringMm: [900], wheelMm: [50] });
    expect(value(found, "perTurn").value).toBeCloseTo(18_000, 9);
    expect(value(found, "perTurn").uncertainty).toBeCloseTo(18_000 * Math.hypot(0.5 / 900, 0.02 / 50), 6);
  });
});

describe("play", () => {
  it("is the difference of both means, ± s/√N of each", () => {
    // One count is one arcminute here. Means 104 and 101.5; s = 1 and 1.2910 (by hand), N = 3 and 4.
    const found = work("backlash", { plus: [103, 104, 105], minus: [100, 101, 102, 103] });
    expect(value(found, "play").value).toBeCloseTo(2.5, 12);
    expect(value(found, "play").uncertainty).toBeCloseTo(Math.hypot(1 / Math.sqrt(3), 1.29099 / 2), 4);
    expect(found.sentence).toContain("2.5′");
  });

  it("is not claimed where it is not seen, and it is said what would have shown", () => {
    const found = work("backlash", { plus: [100, 101, 103], minus: [100, 102, 101] });
    expect(found.sentence).toMatch(/^No play is seen/);
    expect(work("hysteresis", { first: [10, 10, 11], back: [16, 17, 16] }).sentence).toMatch(/6\.0′/);
  });
});

describe("zeros by a level", () => {
  it.each([
    [-30, 60],
    [50, -40],
    [0, -90],
  ])("at latitude %f the level tube stands at declination %f", (latitude, declination) => {
    // A reading of exactly that declination, in arcminutes, leaves no zero.
    const found = work("level", { hourAngle: [7], declination: [60 * declination] }, mountAt(latitude));
    expect(value(found, "declinationZero").value).toBeCloseTo(0, 9);
    expect(value(found, "hourAngleZero").value).toBeCloseTo(7, 9);
    const other = work("level", { hourAngle: [7], declination: [-60 * declination] }, mountAt(latitude, -1));
    expect(value(other, "declinationZero").value).toBeCloseTo(0, 9);
    expect(value(other, "hourAngleZero").value).toBeCloseTo(-7, 9);
  });
});

describe("balance", () => {
  it("finds the centre of mass from two pulls, and the weight that balances", () => {
    // 40 kg, 12 mm in front and 5 mm above: torque = m g (12 cos θ − 5 sin θ) N·mm; the hook at 800 mm.
    const pull = (angle: number) =>
      (40 * 9.80665 * (12 * Math.cos((angle * Math.PI) / 180) - 5 * Math.sin((angle * Math.PI) / 180))) / 800;
    const found = work("balance", {
      angles: [10, 70],
      pulls: [pull(10), pull(70)],
      armMm: [800],
      addAtMm: [-600],
      ringMm: [900],
      rollerLoadN: [200],
    });
    expect(value(found, "along").value).toBeCloseTo(480, 6);
    expect(value(found, "across").value).toBeCloseTo(200, 6);
    expect(found.next.join(" ")).toContain("Add 0.80 kg at 600 mm behind the axis");
    // 0.15 · 200 N · 450 mm = 13.5 N·m against 4.7 N·m at most.
    expect(found.next.join(" ")).toContain("The roller grips: it holds 13.5 N·m");
    expect(work("balance", { angles: [10, 15], pulls: [1, 1], armMm: [800] }).found).toEqual([]);
  });
});

describe("north by a plumb line", () => {
  it("lays the meridian off in millimetres, right positive, at the nearer end", () => {
    // 3 m · tan 2° = 104.8 mm; a shadow that points 2° east of south has the meridian to its right (west of it, seen from the foot).
    expect(value(work("north", { azimuth: [178] }), "the meridian").value).toBeCloseTo(104.76, 1);
    expect(
      value(work("north", { azimuth: [2], left: [-6, -6], right: [4, 4] }), "the meridian").value,
    ).toBeCloseTo(-104.76 - 1, 1);
    expect(work("north", { azimuth: [178] }).sentence).toContain("south end");
  });

  it("says how far the base must go", () => {
    const found = work(
      "north",
      { azimuth: [180], upperMm: [14], lowerMm: [4], axisMm: [2000] },
      mountAt(-30),
    );
    expect(value(found, "the axis").value).toBeCloseTo((10 / 2000 / Math.PI) * 180, 6);
    expect(found.next.join(" ")).toContain("Move the south end of the base 10 mm west");
  });
});

describe("every procedure", () => {
  it.each(procedures.map((one) => [one.name, one] as const))(
    "%s has steps, cautions and reads as a report",
    async (name, one) => {
      expect(one.steps.length).toBeGreaterThan(1);
      expect(one.cautions.length).toBeGreaterThan(0);
      const told = await procedureOf.answer({ words: [name] }, { mount: () => mountAt(-30) } as never);
      expect(reportText(told.reports[0]!, { width: 80 })).toContain("What to write down");
      expect(() => checkedWritten(one, { nonsense: [1] })).toThrow(InputError);
    },
  );

  it("is answered from the command line's words", async () => {
    const told = await procedureOf.answer(
      { words: ["backlash", "plus=3121,3122,3121", "minus=3118,3119,3118"] },
      {
        mount: () => mountAt(-30),
      } as never,
    );
    expect(reportText(told.reports[0]!)).toContain("The play is 3.0′");
    expect((await told.figures()).length).toBe(1);
    const asked = (words: string[]) => procedureOf.answer({ words }, { mount: () => mountAt(-30) } as never);
    await expect(asked(["backlsh"])).rejects.toThrow(/Did you mean backlash/);
    await expect(asked(["backlash", "plus=a"])).rejects.toThrow(/no value that can be read/);
    await expect(asked(["level", "hourAngle=1"])).rejects.toThrow(/declination.*missing/i);
  });
});
