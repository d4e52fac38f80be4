/**
 * A night that a builder could have had: known errors, chance errors of the hand and the encoder, and what goes
 * wrong in practice. The forward model of the mount and the sky, so that a fit can be held against the truth.
 */
import { ARCMINUTE, ARCSECOND, DEGREE, TURN, wrapHalfTurn } from "../angles.js";
import { PolewrightError } from "../errors.js";
import { modelOfMount } from "../fit/bench.js";
import {
  BUILT_IN_COUNT,
  DECLINATION_ZERO,
  HOUR_ANGLE_ZERO,
  POLAR_ALTITUDE,
  POLAR_EAST,
} from "../mount/model.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import { formatReading, readingFromAngle } from "../mount/readings.js";
import { type TermName, termNames } from "../mount/terms.js";
import { readNight } from "../night/night-file.js";
import { findStar } from "../sky/find-star.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { observeIn } from "../sky/observe.js";
import type { SkyFrame } from "../sky/sky-frame.js";
import { skyOverNight } from "../sky/sky-over-night.js";
import type { ObservedDirection, Star } from "../sky/star.js";
import { formatTime } from "../sky/time.js";
import { csvField } from "../tables/csv-lines.js";
import { add, toSpherical, type Vector } from "../vectors.js";
import { disturber } from "./disturb.js";
import type { SimulatedFault, SimulatedNight, SimulationOptions, TrueSighting } from "./options.js";
import { seededRandom } from "./random.js";
import { type ChosenStar, drawMistake, drawPlace, drawStar } from "./star-choice.js";

/** The sky turns 15.041067″ of hour angle a second of time. */
const SKY_RATE = 15.041067 * ARCSECOND;
const DEFAULT_FAINTEST = 3.5;
const HOUR_MS = 3_600_000;
/**
 * No turning of the axes brings the tube nearer to the mount's pole than cone and squareness together: there the
 * cosine of the declination axis's angle is nothing. Nobody sights so near the pole; the margin is 7′.
 */
const OUT_OF_REACH = 0.002;

type Fault<K extends SimulatedFault["kind"]> = Extract<SimulatedFault, { kind: K }>;

/**
 * Simulates a night: what the builder enters, and the truth behind it.
 *
 * The telescope points beside each star by a chance error of centring (the mount's `centringArcmin`, 1σ westward and
 * northward) and of timing (`timingS`); the readings are the rigorous model's, rounded to the encoder's or dial's
 * smallest step. Times are whole seconds of UTC.
 *
 * @param options - seed, true mount and errors, stars, faults
 * @returns the mount file as entered (faults in it included), sightings, night file and truth
 * @throws PolewrightError `no-star-up` when no star can be sighted at a moment, `no-such-row` for a fault in a row
 *   that the night has not
 * @example
 * ```ts
 * const { mount, sightings, truth } = simulateNight({
 *   seed: 1, mount: nowhereSchool, terms: { polarAltitude: 14, polarEast: -19 }, targets: 24,
 *   fromMs: parseTime("2026-03-14T18:00Z"), toMs: parseTime("2026-03-14T21:00Z"),
 * });
 * ```
 */
export function simulateNight(options: SimulationOptions): SimulatedNight {
  const { mount, terms = {}, noise = 1, faults = [], disturbance = {} } = options;
  const random = seededRandom(options.seed);
  const model = modelOfMount(mount);
  const coefficients = coefficientsFrom(terms, mount);
  const readings = new Float64Array(2);
  const reachable = ({ hourAngle, declination }: ObservedDirection): boolean =>
    model.shaftCosine(coefficients, hourAngle, declination) > OUT_OF_REACH;
  const plan = plannedStars(options, random, reachable);
  const rows = plan.length;
  for (const fault of faults) {
    const row = "row" in fault ? fault.row : undefined;
    if (row !== undefined && !(Number.isInteger(row) && row >= 1 && row <= rows)) {
      throw new PolewrightError("no-such-row", `The night has ${rows} sightings; there is no row ${row}.`);
    }
  }
  const clocks = faultsOf(faults, "clock");
  const misnamed = new Map(faultsOf(faults, "misnamed").map((fault) => [fault.row, fault]));
  const beyondSide = options.beyond ?? "never";
  const approachKnown = options.approach === "written";
  const byOrder = options.approach === "by-order";
  const approachMatters =
    approachKnown ||
    byOrder ||
    (terms.hourAngleBacklash ?? 0) !== 0 ||
    (terms.declinationBacklash ?? 0) !== 0;

  const disturb = disturber(disturbance, disturbance.seed ?? options.seed);
  const { chance } = disturb;
  const firstMs = Math.min(...plan.map(({ frame }) => frame.timeMs));
  const lengthMs = Math.max(...plan.map(({ frame }) => frame.timeMs)) - firstMs;
  const pictures = options.choice === "pictures";
  let before: readonly [number, number] | null = null;

  const sightings: TrueSighting[] = [];
  const lines: string[] = [];
  const resolved: SimulatedFault[] = faults.filter((fault) => fault.kind !== "misnamed");

  plan.forEach(({ frame, star: written, seen: intended }, index) => {
    const row = index + 1;
    let inField: ChosenStar = { star: written, seen: intended };
    const mistake = misnamed.get(row);
    if (mistake) {
      inField = mistakenStar(mistake, frame, written, mount, reachable, random) ?? inField;
      if (inField.star !== written) resolved.push({ ...mistake, instead: { star: inField.star.label } });
    }
    const { seen } = inField;

    const share = lengthMs === 0 ? 1 : (frame.timeMs - firstMs) / lengthMs;
    const seenVector = hourAngleVector(seen);
    const besideTerms = disturb.at(share, seenVector);
    const centring = mount.centringArcmin * ARCMINUTE * noise * disturb.centringFactor;
    const outlier = faultsOf(faults, "outlier").filter((fault) => fault.row === row);
    const late = chance(random) * mount.timingS * noise * SKY_RATE * Math.cos(seen.declination);
    const west = chance(random) * centring + late + sum(outlier.map((f) => f.west)) * ARCMINUTE;
    const north = chance(random) * centring + sum(outlier.map((f) => f.north)) * ARCMINUTE;
    const pointing = besides(
      seenVector,
      seen.hourAngle,
      seen.declination,
      west + besideTerms.west,
      north + besideTerms.north,
    );

    let approachH = approachMatters ? (random() < 0.5 ? -1 : 1) : 0;
    let approachD = approachMatters ? (random() < 0.5 ? -1 : 1) : 0;
    const beyond =
      (beyondSide === "east" && seen.hourAngle < 0) || (beyondSide === "west" && seen.hourAngle >= 0);
    const now = Float64Array.from(coefficients);
    now[POLAR_ALTITUDE]! += besideTerms.polarAltitude;
    now[POLAR_EAST]! += besideTerms.polarEast;
    const read = (hourAngleApproach: number, declinationApproach: number): readonly [number, number] => {
      const { hourAngle, declination } = pointing;
      model.forward(
        now,
        hourAngle,
        declination,
        { beyond, hourAngleApproach, declinationApproach },
        readings,
      );
      return [readings[0]!, readings[1]!];
    };
    if (byOrder) {
      const middle = read(0, 0);
      if (before !== null) {
        approachH = Math.sign(middle[0] - before[0]) || approachH;
        approachD = Math.sign(middle[1] - before[1]) || approachD;
      }
      before = middle;
    }
    const [readH, readD] = read(approachH, approachD);
    const besideH = readH - coefficients[HOUR_ANGLE_ZERO]!;
    const [moreH, moreD] = disturb.onReadings(share, besideH, readD - coefficients[DECLINATION_ZERO]!);
    const moved = faultsOf(faults, "zeros-moved").filter((fault) => row >= fault.row);
    const angleH = readH + moreH + sum(moved.map((fault) => fault.hourAngle)) * ARCMINUTE;
    const angleD = readD + moreD + sum(moved.map((fault) => fault.declination)) * ARCMINUTE;
    const clockHours = sum(clocks.filter((fault) => row >= (fault.row ?? 1)).map((fault) => fault.hours));

    const textOf = (angle: number, axis: AxisReadings): string =>
      readingText(angle, axis, frame.siderealTime, options.countsWrap ?? false);
    lines.push(
      [
        formatTime(frame.timeMs + clockHours * HOUR_MS),
        ...(pictures ? [String(written.raDeg), String(written.decDeg)] : [csvField(written.label)]),
        textOf(angleH, reversedIf(faults, "hourAngle", mount)),
        textOf(angleD, reversedIf(faults, "declination", mount)),
        ...(beyondSide === "never" ? [] : [beyond ? "beyond" : "normal"]),
        ...(approachKnown ? [approachH > 0 ? "+" : "-", approachD > 0 ? "+" : "-"] : []),
      ].join(","),
    );
    sightings.push({
      row,
      star: inField.star.label,
      written: written.label,
      hourAngleDeg: seen.hourAngle / DEGREE,
      declinationDeg: seen.declination / DEGREE,
      altitudeDeg: seen.altitude / DEGREE,
      west: west / ARCMINUTE,
      north: north / ARCMINUTE,
    });
  });

  const header = [
    "time",
    ...(pictures ? ["raDeg", "decDeg"] : ["star"]),
    "hourAngle",
    "declination",
    ...(beyondSide === "never" ? [] : ["side"]),
    ...(approachKnown ? ["hourAngleApproach", "declinationApproach"] : []),
  ].join(",");
  const comments = (options.comments ?? []).map((comment) => `# ${comment}`);
  const csv = `${[...comments, header, ...lines].join("\n")}\n`;
  const entered = enteredMount(mount, faults);
  return {
    mount: entered,
    sightings: readNight(csv, entered).night.sightings,
    csv,
    truth: { seed: options.seed, terms, sightings, faults: resolved, disturbance },
  };
}

/** The mount file as the builder wrote it. */
function enteredMount(mount: Mount, faults: readonly SimulatedFault[]): Mount {
  const axis = (name: "hourAngle" | "declination"): AxisReadings => ({
    ...mount.readings[name],
    perTurn: faultsOf(faults, "wrong-steps")
      .filter((fault) => fault.axis === name)
      .reduce((perTurn, fault) => perTurn * fault.factor, mount.readings[name].perTurn),
  });
  const has = (kind: SimulatedFault["kind"]): boolean => faults.some((fault) => fault.kind === kind);
  const latitude = has("latitude-sign") ? -mount.site.latitude : mount.site.latitude;
  const longitude = has("longitude-sign") ? -mount.site.longitude : mount.site.longitude;
  const place = has("site-exchanged")
    ? { latitude: longitude, longitude: latitude }
    : { latitude, longitude };
  return {
    ...mount,
    site: { ...mount.site, ...place },
    readings: { hourAngle: axis("hourAngle"), declination: axis("declination") },
  };
}

/** The encoder as it truly counts. */
function reversedIf(
  faults: readonly SimulatedFault[],
  name: "hourAngle" | "declination",
  mount: Mount,
): AxisReadings {
  const axis = mount.readings[name];
  const reversed = faultsOf(faults, "sense-reversed").some((fault) => fault.axis === name);
  return reversed ? { ...axis, sense: axis.sense === 1 ? -1 : 1 } : axis;
}

/** A reading rounded to what the encoder or the dial shows. */
function readingText(angle: number, axis: AxisReadings, siderealTime: number, countsWrap: boolean): string {
  const within =
    axis.as === "counts"
      ? countsWrap
        ? angle - TURN * Math.floor(angle / TURN)
        : angle
      : wrapHalfTurn(angle);
  const reading = readingFromAngle(within, axis, { siderealTime });
  let steps = Math.round(reading / axis.smallest);
  const perTurn = axis.perTurn / axis.smallest;
  if (axis.as === "rightAscension" || (axis.as === "counts" && countsWrap))
    steps -= perTurn * Math.floor(steps / perTurn);
  return formatReading(steps * axis.smallest, axis);
}

interface PlannedStar extends ChosenStar {
  readonly frame: SkyFrame;
}

function plannedStars(
  options: SimulationOptions,
  random: () => number,
  reachable: (seen: ObservedDirection) => boolean,
): PlannedStar[] {
  const { mount, targets } = options;
  if (typeof targets !== "number") {
    const times = targets.map((target) => target.timeMs);
    const sky = skyOverNight(Math.min(...times), Math.max(...times), mount.site);
    return targets.map(({ star: name, timeMs }) => {
      const frame = sky.at(timeMs);
      const star = findStar(name);
      return { frame, star, seen: observeIn(frame, star) };
    });
  }
  const { fromMs, toMs } = options;
  if (fromMs === undefined || toMs === undefined) {
    throw new PolewrightError("no-time-given", "Stars that are drawn need fromMs and toMs.");
  }
  const sky = skyOverNight(fromMs, toMs, mount.site);
  const used = new Set<number>();
  const plan: PlannedStar[] = [];
  for (let k = 0; k < targets; k++) {
    const share = (k + 0.2 + 0.6 * random()) / targets;
    const frame = sky.at(1000 * Math.round((fromMs + share * (toMs - fromMs)) / 1000));
    const chosen =
      options.choice === "pictures"
        ? drawPlace(frame, mount.limits, reachable, random)
        : drawStar(
            frame,
            mount.limits,
            reachable,
            options.choice ?? "sky",
            options.faintest ?? DEFAULT_FAINTEST,
            used,
            random,
          );
    if (!chosen) {
      throw new PolewrightError("no-star-up", `No star can be sighted at ${formatTime(frame.timeMs)}.`);
    }
    used.add(chosen.star.hip);
    plan.push({ frame, ...chosen });
  }
  return plan;
}

function mistakenStar(
  mistake: Fault<"misnamed">,
  frame: SkyFrame,
  written: Star,
  mount: Mount,
  reachable: (seen: ObservedDirection) => boolean,
  random: () => number,
): ChosenStar | null {
  if (typeof mistake.instead !== "object") {
    return drawMistake(frame, written, mistake.instead, mount.limits.altitudeDeg, reachable, random);
  }
  const star = findStar(mistake.instead.star);
  return { star, seen: observeIn(frame, star) };
}

/** A place a little west and north of another, on the tangent plane. */
function besides(
  place: Vector,
  hourAngle: number,
  declination: number,
  west: number,
  north: number,
): { readonly hourAngle: number; readonly declination: number } {
  const toWest: Vector = [-Math.sin(hourAngle), -Math.cos(hourAngle), 0];
  const toNorth: Vector = [
    -Math.sin(declination) * Math.cos(hourAngle),
    Math.sin(declination) * Math.sin(hourAngle),
    Math.cos(declination),
  ];
  const { longitude, latitude } = toSpherical(add(add(place, toWest, west), toNorth, north));
  return { hourAngle: -longitude, declination: latitude };
}

/** Coefficients in the model's order, radians, from terms in arcminutes. */
function coefficientsFrom(terms: Readonly<Partial<Record<TermName, number>>>, mount: Mount): Float64Array {
  const names: readonly string[] = [...termNames, ...mount.customTerms.map((term) => term.name)];
  const coefficients = new Float64Array(BUILT_IN_COUNT + mount.customTerms.length);
  for (const [name, value] of Object.entries(terms) as [string, number][]) {
    const index = names.indexOf(name);
    if (index < 0) throw new PolewrightError("unknown-term", `The mount has no term ${name}.`);
    coefficients[index] = value * ARCMINUTE;
  }
  return coefficients;
}

function faultsOf<K extends SimulatedFault["kind"]>(faults: readonly SimulatedFault[], kind: K): Fault<K>[] {
  return faults.filter((fault): fault is Fault<K> => fault.kind === kind);
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
