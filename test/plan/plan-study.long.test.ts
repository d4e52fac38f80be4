/** Planned stars against stars at random, over many nights: how well the polar axis is known after them. */
import { describe, expect, test } from "vitest";
import { CAUSE_CHANCE, WIDER, WIDER_CHANCE } from "../../src/fit/beliefs.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import type { Mount } from "../../src/mount/mount.js";
import { type BuiltInTermName, type CauseName, termRecords } from "../../src/mount/terms.js";
import { planStars } from "../../src/plan/plan.js";
import { plannableTerms } from "../../src/pointing/known-mount.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

function nightOf(
  plan: ReturnType<typeof planStars>,
  seed: number,
  truth: Partial<Record<BuiltInTermName, number>>,
  mount: Mount,
) {
  const targets = plan.stars.map((star) => ({ star: `HIP ${star.hip}`, timeMs: star.timeMs }));
  const { sightings } = simulateNight({ seed, mount, terms: truth, targets });
  return { mount, sightings };
}

describe("study: ten planned stars against twenty drawn at random", () => {
  /** Nights at four latitudes over a year, mounts with errors drawn from their tolerances. */
  const NIGHTS = 200;

  /** Causes drawn by their odds and tolerances, as the fit believes of mounts. */
  function causesAtWork(mount: Mount, random: () => number): Partial<Record<BuiltInTermName, number>> {
    const width = new Map<CauseName, number>();
    for (const [cause, chance] of Object.entries(CAUSE_CHANCE)) {
      const acts = random() < chance;
      const wider = random() < WIDER_CHANCE ? WIDER : 1;
      width.set(cause as CauseName, acts ? wider : 0);
    }
    return Object.fromEntries(
      plannableTerms.flatMap((name) => {
        const { cause, tolerance } = termRecords[name];
        if (cause === undefined || tolerance === null) return [];
        return [[name, width.get(cause)! * mount.tolerances[tolerance] * gaussian(random)]];
      }),
    );
  }

  test("the polar axis is known better, by the fit's own uncertainty and by its true error", () => {
    const random = seededRandom(77);
    const normal = () => gaussian(random);
    const sum = { planned: 0, drawn: 0, plannedError: 0, drawnError: 0 };
    for (let night = 0; night < NIGHTS; night++) {
      const latitude = [-30, 48, 12, -45][night % 4]!;
      const declinationDeg: readonly [number, number] = latitude < 0 ? [-90, 60] : [-60, 90];
      const mount = {
        ...nowhereSchool,
        site: { ...nowhereSchool.site, latitude },
        limits: { ...nowhereSchool.limits, declinationDeg },
      };
      const start = parseTime("2026-03-14T20:00:00Z") + Math.floor(random() * 360) * 86_400_000;
      const truth = {
        hourAngleZero: 3000 * normal(),
        declinationZero: 3000 * normal(),
        polarAltitude: 20 * normal(),
        polarEast: 20 * normal(),
        cone: 20 * normal(),
        squareness: 15 * normal(),
        tubeSag: 5 * normal(),
        ringSag: 3 * normal(),
        trunnionSag: 2 * normal(),
        ...causesAtWork(mount, random),
      };
      const plan = planStars(mount, start, { stars: 10 });
      const planned = fitMount(nightOf(plan, night + 1, truth, mount), { catches: false }).pole;
      const other = simulateNight({
        seed: night + 1001,
        mount,
        terms: truth,
        targets: 20,
        fromMs: start,
        toMs: start + 19 * 4 * 60_000,
      });
      const drawn = fitMount({ mount, sightings: other.sightings }, { catches: false }).pole;
      const size = (pole: typeof planned) => Math.hypot(pole.altitude.uncertainty, pole.east.uncertainty);
      const error = (pole: typeof planned) =>
        Math.hypot(pole.altitude.value - truth.polarAltitude, pole.east.value - truth.polarEast);
      sum.planned += size(planned) ** 2;
      sum.drawn += size(drawn) ** 2;
      sum.plannedError += error(planned) ** 2;
      sum.drawnError += error(drawn) ** 2;
    }
    // Found over these 200 nights: in truth 0.65′ against 0.85′, by the fits 1.05′ against 1.08′.
    expect(Math.sqrt(sum.plannedError / sum.drawnError)).toBeLessThan(0.9);
    // The fits' own figures differ less: ten stars tell less than twenty of how large the errors are, and a fit allows for that.
    expect(sum.planned).toBeLessThan(sum.drawn);
    // The mean square of 400 errors scatters by 7 %, four times that is allowed above. Below there is more room: creep, a
    // residue and larger errors, which a fit allows for, are not in these nights.
    const ratio = sum.plannedError / sum.planned;
    expect(ratio).toBeLessThan(1.28);
    expect(ratio).toBeGreaterThan(0.35);
  });
});
