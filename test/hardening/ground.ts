/** Mounts and nights that the hardening tests start from. All are invented. */
import { firstMount } from "../../src/mount/first-mount.js";
import { mountFileText, parseMount } from "../../src/mount/mount-file.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";

const { note: _, base: example, camera, ...core } = firstMount;
/** As the builder's own, so that turns are asked for too. */
const base = { ...example, confirmed: true };

/** So many jacks on a circle of 900 mm, the first to the east. */
function ring(count: number): object {
  return {
    ...base,
    azimuthBolts: null,
    jacks: Array.from({ length: count }, (_, n) => ({
      name: `foot ${n + 1}`,
      eastMm: Math.round(900 * Math.cos((2 * Math.PI * n) / count)),
      northMm: Math.round(900 * Math.sin((2 * Math.PI * n) / count)),
    })),
  };
}

const counts = core.readings;
const dials = {
  hourAngle: { as: "hours", smallest: 0.02, sense: 1 },
  declination: { as: "degrees", smallest: 0.25, sense: 1 },
};
const display = {
  hourAngle: { as: "rightAscension", smallest: 0.001 },
  declination: { as: "degrees", smallest: 0.01 },
};
const coarse = {
  hourAngle: { as: "counts", perTurn: 4, sense: -1 },
  declination: { as: "counts", perTurn: 4096, sense: 1 },
};
const degrees = {
  hourAngle: { as: "degrees", smallest: 1 },
  declination: { as: "degrees", smallest: 1, sense: -1 },
};

/** Mount files of every shape, as plain objects. */
export const mountFiles: readonly Readonly<Record<string, unknown>>[] = [
  { ...core, base, camera },
  { ...core, base: ring(3), camera, readings: dials },
  { ...core, base: ring(5), readings: display, kind: "fork" },
  { ...core, base: ring(8), camera, readings: degrees, kind: "german" },
  { ...core, readings: coarse, kind: "yoke" },
  {
    ...core,
    base: {
      ...base,
      azimuthBolts: null,
      lowerBearing: { axisLengthMm: 1200, eastWestPitchMm: 1.5, upDownPitchMm: null },
    },
    readings: counts,
    customTerms: [
      { name: "customFork", label: "fork", hourAngle: "cos(hourAngle)*tan(declination)", tolerance: 3 },
      { name: "customRoot", hourAngle: "0", declination: "sqrt(altitude)", tolerance: null },
    ],
  },
];

export const latitudes = [-90, -89.9999, -66.6, -30, -0.0001, 0, 0.0001, 12, 48.2, 89.9999, 90] as const;
export const longitudes = [-180, -179.9999, -20, 0, 20, 179.9999, 180] as const;

/** A mount file with another site. */
export function at(file: Readonly<Record<string, unknown>>, latitude: number, longitude: number): object {
  return { ...file, site: { ...(file.site as object), latitude, longitude } };
}

export interface Ground {
  readonly mountText: string;
  readonly nightText: string;
}

/** Valid pairs of files: every mount, and a small night each, made by the project's own simulation. */
export const grounds: readonly Ground[] = mountFiles.flatMap((file, index) =>
  [0, 1, 2, 3, 5, 9].map((targets) => {
    const mount = parseMount(file);
    const night =
      targets === 0
        ? "time,star,hourAngle,declination\n"
        : simulateNight({
            seed: 100 * index + targets,
            mount,
            targets,
            fromMs: parseTime("2026-03-14T18:00Z"),
            toMs: parseTime("2026-03-14T21:00Z"),
            terms: { polarAltitude: 14, polarEast: -19, cone: 8, hourAngleZero: 150, declinationZero: -90 },
            beyond: targets > 4 ? "west" : "never",
          }).csv;
    return { mountText: mountFileText(file), nightText: night };
  }),
);
