import { describe, expect, test } from "vitest";
import { InputError } from "../../src/errors.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";

type Base = Record<string, unknown> & { jacks: { eastMm: number; northMm: number }[] };

function faultsOf(change: (base: Base) => void, confirmed?: boolean): { path?: string; message: string }[] {
  const mount = structuredClone(firstMount) as unknown as { base: Base };
  delete mount.base.confirmed;
  if (confirmed !== undefined) mount.base.confirmed = confirmed;
  change(mount.base);
  try {
    parseMount(mount);
    return [];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.faults.map(({ path, message }) => ({ ...(path === undefined ? {} : { path }), message }));
  }
}

const places = (factor: number) => (base: Base) => {
  for (const jack of base.jacks) {
    jack.eastMm *= factor;
    jack.northMm *= factor;
  }
};

describe("a figure in another unit is refused, with the likely unit named", () => {
  test.each([
    ["jacks in centimetres", places(1 / 10), "base.jacks", "centimetres"],
    ["jacks in inches", places(1 / 25.4), "base.jacks", "inches"],
    ["jacks in metres", places(1 / 1000), "base.jacks", "metres"],
    ["a pitch in metres", (base: Base) => (base.pitchMm = 0.002), "base.pitchMm", "metres"],
    ["a pitch in centimetres", (base: Base) => (base.pitchMm = 0.2), "base.pitchMm", "centimetres"],
    ["a pitch in inches", (base: Base) => (base.pitchMm = 1 / 13), "base.pitchMm", "inches"],
    ["threads per inch", (base: Base) => (base.pitchMm = 13), "base.pitchMm", "threads per inch"],
    ["tenths of a millimetre", (base: Base) => (base.pitchMm = 20), "base.pitchMm", "tenths"],
    [
      "a lever in metres",
      (base: Base) => Object.assign(base.azimuthBolts as object, { leverMm: 1.5 }),
      "base.azimuthBolts.leverMm",
      "metres",
    ],
    [
      "a lever in centimetres",
      (base: Base) => Object.assign(base.azimuthBolts as object, { leverMm: 150 }),
      "base.azimuthBolts.leverMm",
      "centimetres",
    ],
    ["travel in metres", (base: Base) => (base.raiseLeftMm = 0.03), "base.raiseLeftMm", "metres"],
  ])("%s", (_, change, path, unit) => {
    const faults = faultsOf(change);
    expect(faults.map((fault) => fault.path)).toEqual([path]);
    expect(faults[0]!.message).toContain(unit);
    // Where it is really so, the builder says so.
    expect(faultsOf(change, true)).toEqual([]);
    expect(faultsOf(change, false).map((fault) => fault.path)).toEqual([path]);
  });

  test("usual figures pass, and a base may have few jacks or none", () => {
    expect(faultsOf(() => {})).toEqual([]);
    expect(faultsOf((base) => (base.jacks = []))).toEqual([]);
    expect(faultsOf((base) => delete (base as Partial<Base>).jacks)).toEqual([]);
    expect(faultsOf((base) => (base.jacks = base.jacks.slice(0, 2)))).toEqual([]);
  });
});

test("the figures of the example that a new folder begins with are marked, so that no turns come of them", () => {
  expect(parseMount(firstMount).base?.confirmed).toBe(false);
});
