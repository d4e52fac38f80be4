/**
 * Turning under a camera: shafts clamped, drive off, nothing touched but the base. A solved picture gives the tube's
 * orientation; what has changed since the first one is the base's rotation, whatever the threads and the floor do.
 */
import { ARCMINUTE, DEGREE } from "../angles.js";
import { jackTurns } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import { type TurnMade, turnsOfAdvice } from "../base/turns-made.js";
import type { MountFit } from "../fit/fit-result.js";
import { hourAngleVector } from "../sky/horizon-frame.js";
import { observe } from "../sky/observe.js";
import type { Site } from "../sky/site.js";
import { add, cross, dot, length, rotate, scale, unit, type Vector } from "../vectors.js";
import type { SolvedPicture } from "./fits-sighting.js";

/** Where the axis points, from the true pole, arcminutes. */
interface AxisNow {
  readonly altitude: number;
  readonly east: number;
}

/** What a picture shows. */
export interface WatchedPicture {
  readonly file: string;
  readonly timeMs: number;
  /** What the base has moved the axis by since the first picture, arcminutes. */
  readonly turned: AxisNow;
  /** Where the axis points now. */
  readonly now: AxisNow;
  /** What is left to turn. */
  readonly advice: TurnAdvice;
}

/** Three directions fixed to the tube, in the hour-angle frame. */
type Orientation = readonly [Vector, Vector, Vector];

/** In one step between two pictures nobody turns a base so far, degrees: the tube was moved, or the mount turned. */
const MOST_STEP_DEG = 3;

/** The tube's orientation against the Earth: the picture's centre, its horizontal, and what is square to both. */
function orientationOf({ sky, timeMs }: SolvedPicture, site: Site): Orientation {
  const at = (x: number, y: number): Vector => hourAngleVector(observe(sky.at(x, y), timeMs, site));
  const [x, y] = [(sky.width + 1) / 2, (sky.height + 1) / 2];
  const centre = at(x, y);
  const side = add(at(x + sky.width / 4, y), at(x - sky.width / 4, y), -1);
  const along = unit(add(side, centre, -dot(side, centre)));
  return [centre, along, cross(centre, along)];
}

/** The rotation from one orientation to another. */
function rotationFrom(before: Orientation, now: Orientation): (v: Vector) => Vector {
  return (v) => before.reduce<Vector>((sum, axis, k) => add(sum, now[k]!, dot(axis, v)), [0, 0, 0]);
}

/** Its angle, radians: by how much each of the three directions goes, at the least. */
function angleBetween(before: Orientation, now: Orientation): number {
  const sine = scale(
    before.map((axis, k) => cross(axis, now[k]!)).reduce((sum, one) => add(sum, one, 1)),
    0.5,
  );
  const cosine = (before.reduce((sum, axis, k) => sum + dot(axis, now[k]!), 0) - 1) / 2;
  return Math.atan2(length(sine), cosine);
}

/** Follows the base from picture to picture. */
export class BaseWatch {
  readonly #fit: MountFit;
  #first: Orientation | null = null;
  #last: Orientation | null = null;
  readonly #used: readonly TurnMade[];
  #asked: readonly TurnMade[] | null = null;

  /**
   * @param fit - how the mount stood before the first picture
   * @param used - what was turned in earlier rounds: travel that is no longer left
   */
  constructor(fit: MountFit, used: readonly TurnMade[] = []) {
    this.#fit = fit;
    this.#used = used;
  }

  /**
   * Takes the next picture.
   *
   * @returns what it shows, or a sentence where the tube was moved: that picture is left out
   */
  see(picture: SolvedPicture): WatchedPicture | string {
    const { mount, pole } = this.#fit;
    const orientation = orientationOf(picture, mount.site);
    this.#first ??= orientation;
    const step = angleBetween(this.#last ?? orientation, orientation) / DEGREE;
    if (step > MOST_STEP_DEG) {
      return `The tube has moved by ${step.toFixed(1)}° since the last picture, more than a base is turned: the picture is left out. Clamp both axes, switch the drive off, and begin again if the tube was moved.`;
    }
    this.#last = orientation;
    const from = { altitude: pole.altitude.value, east: pole.east.value };
    const now = carriedAxis(from, rotationFrom(this.#first, orientation), mount.site.latitude);
    return {
      file: picture.file,
      timeMs: picture.timeMs,
      turned: { altitude: now.altitude - from.altitude, east: now.east - from.east },
      now,
      advice: this.#adviceFor(withPole(this.#fit, now)),
    };
  }

  /** What is left to turn; what has been turned since the first picture is travel used. */
  #adviceFor(fit: MountFit): TurnAdvice {
    const advice = jackTurns(fit, { used: this.#used });
    const asked = turnsOfAdvice(advice);
    this.#asked ??= asked;
    const made = turnedSince(this.#asked, asked);
    return made.length === 0 ? advice : jackTurns(fit, { used: [...this.#used, ...made] });
  }
}

/** What was turned between two advices: what the one asked for and the other no longer does. */
function turnedSince(first: readonly TurnMade[], now: readonly TurnMade[]): TurnMade[] {
  return first.flatMap((one) => {
    const left = now.find(({ adjuster }) => adjuster === one.adjuster);
    const share = left === undefined ? 0 : left.direction === one.direction ? -1 : 1;
    const turns = one.turns + share * (left?.turns ?? 0);
    const mm = one.mm === null ? null : one.mm + share * (left?.mm ?? 0);
    return turns > 0 || (mm ?? 0) > 0 ? [{ ...one, turns: Math.max(0, turns), mm }] : [];
  });
}

/** Where the axis points when the base has turned. */
function carriedAxis(from: AxisNow, turned: (v: Vector) => Vector, latitude: number): AxisNow {
  const sign = latitude < 0 ? -1 : 1;
  const stands: Vector = [-sign * from.east * ARCMINUTE, sign * from.altitude * ARCMINUTE, 0];
  const axis = turned(rotate([0, 0, 1], stands));
  // The rotation vector that takes the pole to the axis.
  const across = cross([0, 0, 1], axis);
  const sine = length(across);
  const swing = sine === 0 ? across : scale(across, Math.atan2(sine, axis[2]) / sine);
  return { altitude: (sign * swing[1]) / ARCMINUTE + 0, east: (-sign * swing[0]) / ARCMINUTE + 0 };
}

/** How finely pictures show a change of the base, 1σ, arcminutes; the night's own error is the same before and after. */
const SEEN_ARCMIN = 0.05;

/**
 * The fit with the axis where it is now. What is left to turn is worth turning as far as pictures show it, not only as far
 * as the night knows the pole: by that the night's own error is not made larger.
 */
function withPole(fit: MountFit, { altitude, east }: AxisNow): MountFit {
  const { pole } = fit;
  const cosine = Math.cos(fit.mount.site.latitude * DEGREE);
  const seen = (value: number) => ({ value, uncertainty: SEEN_ARCMIN });
  return {
    ...fit,
    mount: { ...fit.mount, camera: null },
    pole: {
      ...pole,
      altitude: seen(altitude),
      east: seen(east),
      azimuth: { value: east / cosine, uncertainty: SEEN_ARCMIN / cosine },
      distance: seen(Math.hypot(altitude, east)),
      covariance: 0,
    },
  };
}
