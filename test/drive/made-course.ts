/** Courses with known errors over a site without air and a mount without errors: west is then the drive's alone. */
import type { TrackPoint } from "../../src/drive/drive-track.js";
import type { Mount } from "../../src/mount/mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { gaussian, seededRandom } from "../../src/simulate/random.js";
import { icrsFromObserved } from "../support/sky.js";

const START_MS = Date.UTC(2026, 2, 14, 20);
export const OMEGA_ARCSEC = 15.04106717866911;

export function airlessMount(more: object = {}): Mount {
  return parseMount({
    name: "Airless test mount",
    site: { latitude: -30, longitude: 20, pressureHPa: 0 },
    readings: { hourAngle: { as: "counts", perTurn: 16384 }, declination: { as: "counts", perTurn: 16384 } },
    ...more,
  });
}

export interface MadeCourse {
  readonly seed: number;
  readonly declinationDeg?: number;
  readonly minutes?: number;
  readonly stepS?: number;
  readonly errorPpm?: number;
  readonly waves?: readonly { periodS: number; amplitude: number; phase?: number }[];
  readonly scatter?: number;
  readonly wander?: { size: number; memoryS: number };
  readonly change?: (point: { seconds: number; west: number; north: number; index: number }) => void;
  readonly segmentOf?: (seconds: number) => string;
}

export function madeCourse(made: MadeCourse, mount = airlessMount()): TrackPoint[] {
  const random = seededRandom(made.seed);
  const {
    declinationDeg = 0,
    minutes = 90,
    stepS = 20,
    errorPpm = 0,
    waves = [],
    scatter = 1,
    wander,
  } = made;
  const position = icrsFromObserved(
    { hourAngle: -0.2, declination: (declinationDeg * Math.PI) / 180 },
    START_MS,
    mount.site,
  );
  const cosine = Math.cos((declinationDeg * Math.PI) / 180);
  const points: TrackPoint[] = [];
  let [slowWest, slowNorth] = [gaussian(random), gaussian(random)];
  let before = 0;
  for (let index = 0; index * stepS <= 60 * minutes; index++) {
    const seconds = index === 0 ? 0 : index * stepS + 0.3 * stepS * (random() - 0.5);
    if (wander) {
      const keep = Math.exp(-(seconds - before) / wander.memoryS);
      slowWest = keep * slowWest + Math.sqrt(1 - keep * keep) * gaussian(random);
      slowNorth = keep * slowNorth + Math.sqrt(1 - keep * keep) * gaussian(random);
    }
    before = seconds;
    const lead =
      errorPpm * 1e-6 * OMEGA_ARCSEC * seconds +
      waves.reduce(
        (sum, w) => sum + w.amplitude * Math.sin((2 * Math.PI * seconds) / w.periodS + (w.phase ?? 0)),
        0,
      );
    const point = {
      seconds,
      index,
      west: -lead * cosine + scatter * gaussian(random) + (wander?.size ?? 0) * slowWest,
      north: scatter * gaussian(random) + (wander?.size ?? 0) * slowNorth,
    };
    made.change?.(point);
    points.push({
      row: index + 1,
      line: index + 2,
      timeMs: START_MS + 1000 * point.seconds,
      label: "a test star",
      position,
      westArcsec: point.west,
      northArcsec: point.north,
      readings: null,
      segment: made.segmentOf?.(seconds) ?? "",
      uncertaintyArcsec: null,
      beyond: false,
      note: "",
    });
  }
  return points;
}
