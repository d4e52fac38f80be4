/** What is to move each axis, with the reasons; what is too far or too small is cut or left. */
import { ARCMINUTE, DEGREE } from "../angles.js";
import type { AxisName, Way } from "./adjusters/adjuster.js";
import { waysOf } from "./adjusters/adjusters.js";
import { moveAxis } from "./axis-motion.js";
import { arcminutes, millimetres } from "./base-words.js";
import { isInside, isSolved, motionOf, reaches, realTurns, type Setting, type Wish } from "./correction.js";
import type { AdjusterChoice } from "./turn-advice.js";
import type { AimPlace, TurnOptions } from "./turn-question.js";
import { smallestEffect } from "./turns-made.js";

/** Less of a correction than this is not worth starting. */
const WORTH_GOING = 0.01;
/** An east–west tilt that costs more than so many times what it moves the axis (1/|sin φ|) is weighed against a slide. */
const DEAR_TILT = 3;
/** A slide of less than this is not worth a lever, millimetres. */
const LEAST_SLIDE_MM = 2;

const axisTitles: Readonly<Record<AxisName, string>> = { altitude: "Altitude", east: "East–west" };

/** A way weighed: can it make the correction, and at what price. */
interface Weighed {
  readonly way: Way;
  readonly choice: Omit<AdjusterChoice, "chosen">;
}

/** Settles on what moves each axis, with the reasons; far corrections are cut to what the travel allows. */
export function chooseMeans(
  setting: Setting,
  aim: AimPlace,
  wants: Readonly<Record<AxisName, boolean>>,
  options: TurnOptions,
  reasons: string[],
  notes: string[],
): { readonly wish: Wish; readonly choices: readonly AdjusterChoice[]; readonly blocked: boolean } {
  const choices: AdjusterChoice[] = [];
  let wish: Wish = { altitude: null, east: null };
  let blocked = false;
  /** What limits the advice stands above it and among the reasons. */
  const limit = (text: string): void => {
    notes.push(text);
    reasons.push(text);
  };
  for (const axis of ["altitude", "east"] as const) {
    if (!wants[axis]) continue;
    const to = axis === "altitude" ? aim.altitude : 0;
    const before = wish;
    const weighed = waysOf(setting.adjusters, axis).map((way) => ({
      way,
      choice: weigh(setting, way, { ...before, [axis]: { way, to } }),
    }));
    const forced = (axis === "east" ? options.azimuthBy : options.altitudeBy) ?? "auto";
    const chosen =
      forced === "auto"
        ? preferred(weighed, setting)
        : (weighed.find(({ way }) => way.by === forced) ?? null);
    choices.push(...weighed.map((one) => ({ ...one.choice, chosen: one === chosen })));
    if (chosen === null) {
      blocked = true;
      const why = weighed.map(({ way, choice }) => `${way.title}: ${choice.because}`).join("; ");
      limit(
        `${axisTitles[axis]}: nothing on the base can move the axis${why === "" ? "" : ` (${why})`}. ${arcminutes(to - setting.from[axis])} stays.`,
      );
      continue;
    }
    const { way } = chosen;
    const along = (part: number): Wish => ({
      ...before,
      [axis]: { way, to: setting.from[axis] + part * (to - setting.from[axis]) },
    });
    // What the other axis takes of the same jacks counts; what it takes of other adjusters has been looked at.
    const part = reachablePart((some) =>
      way.byJacks ? reaches(setting, along(some)) : goesFarEnough(setting, along(some), axis),
    );
    if (part < WORTH_GOING) blocked = true;
    else wish = along(part);
    reasons.push(...choiceReasons(axisTitles[axis], weighed, chosen, forced !== "auto"));
    if (part < 1) {
      const whole = to - setting.from[axis];
      limit(
        `${axisTitles[axis]}: ${way.title} ${/s$/.test(way.title) ? "reach" : "reaches"} only ${Math.round(100 * part)} % of the way; ${arcminutes(whole * (1 - part))} stays. ${way.rest(whole * (1 - part) * ARCMINUTE)}`,
      );
    }
    if (part >= WORTH_GOING && axis === "altitude") tooMuchTilt(setting, wish, limit);
  }
  return { wish: togetherInReach(setting, wish), choices, blocked };
}

/** The altitude a hair shorter where the azimuth's motion, beyond the first order, takes the jacks past their travel. */
function togetherInReach(setting: Setting, wish: Wish): Wish {
  const { altitude, east } = wish;
  if (altitude === null || east === null || reaches(setting, wish)) return wish;
  const from = setting.from.altitude;
  const shorter = (part: number): Wish => ({
    ...wish,
    altitude: { ...altitude, to: from + part * (altitude.to - from) },
  });
  return shorter(reachablePart((part) => reaches(setting, shorter(part))));
}

function goesFarEnough(setting: Setting, wish: Wish, axis: AxisName): boolean {
  const real = realTurns(setting, wish);
  return isSolved(real) && isInside(wish[axis]?.way, axis === "altitude" ? real.up : real.over);
}

/** One means weighed: can it make the correction, and at what price. */
export function weigh(setting: Setting, way: Way, wish: Wish): Weighed["choice"] {
  const { axis, by } = way;
  const none = {
    axis,
    by: by as AdjusterChoice["by"],
    possible: false,
    tiltArcmin: 0,
    travelMm: 0,
    outOfLevelArcmin: 0,
    hourAngleZeroShift: 0,
  };
  if (way.lack !== null) return { ...none, because: `no, ${way.lack}` };
  const real = realTurns(setting, wish);
  if (!isSolved(real)) return { ...none, because: "no, for no motion of it takes the axis there" };
  const { base, latitudeDeg } = setting;
  const motion = motionOf(setting, wish, real.up, real.over);
  const shift = moveAxis(setting.from, motion, latitudeDeg).hourAngleZero;
  const outOfLevelArcmin = Math.hypot(motion.slopeEast, motion.slopeNorth) / ARCMINUTE;
  const amount = axis === "altitude" ? real.up : real.over;
  const mm = amount * way.mmPerUnit;
  const tiltArcmin = way.byJacks ? Math.abs(amount) / ARCMINUTE : 0;
  const level = way.byJacks ? `the base ends ${arcminutes(outOfLevelArcmin)} from its present level; ` : "";
  const words = `${way.words(mm)}; ${level}the hour-angle readings shift by ${arcminutes(shift)}`;
  const short = way.byJacks
    ? real.risesMm === null
      ? `more than the jacks' travel, by ${millimetres(real.shortMm)}`
      : axis === "east" && tiltArcmin > base.tiltLimitDeg * 60
        ? `more than the limit of ${base.tiltLimitDeg}° out of level`
        : null
    : isInside(way, amount)
      ? null
      : `more than the ${millimetres(way.leftMm[mm > 0 ? 0 : 1])} left that way`;
  return {
    ...none,
    possible: short === null,
    tiltArcmin,
    travelMm: way.byJacks && real.risesMm !== null ? Math.max(...real.risesMm.map(Math.abs)) : Math.abs(mm),
    outOfLevelArcmin,
    hourAngleZeroShift: shift,
    because: short === null ? words : `${words}: ${short}`,
  };
}

/** The means that the preference settles on: what reaches and has a screw first, then what there is. */
function preferred(weighed: readonly Weighed[], setting: Setting): Weighed | null {
  const usable = weighed.filter(({ way }) => way.lack === null);
  const reaching = usable.filter(
    ({ choice, way }) => choice.possible && (hasScrew(way) || way.by === "slide"),
  );
  const first = reaching[0] ?? usable[0] ?? null;
  const slide = reaching.find(({ way }) => way.by === "slide");
  const price = 1 / Math.abs(Math.sin(setting.latitudeDeg * DEGREE));
  const dear = first?.way.axis === "east" && first.way.byJacks && price > DEAR_TILT;
  return dear && slide !== undefined && slide.choice.travelMm >= LEAST_SLIDE_MM ? slide : first;
}

function hasScrew(way: Way): boolean {
  return way.pitchMm !== null;
}

/** The means that the preference settles on where no travel runs out; null where nothing can move the axis. */
export function firstMeans(setting: Setting, axis: AxisName): Way | null {
  const usable = waysOf(setting.adjusters, axis).filter((way) => way.lack === null);
  return usable.find(hasScrew) ?? usable[0] ?? null;
}

/** Most of the way, from 0 to 1, that a wish can go while `inside` holds. */
function reachablePart(inside: (part: number) => boolean): number {
  if (inside(1)) return 1;
  let reached = 0;
  let outside = 1;
  for (let round = 0; round < 40; round++) {
    const middle = (reached + outside) / 2;
    if (inside(middle)) reached = middle;
    else outside = middle;
  }
  return reached;
}

function choiceReasons(
  axis: string,
  weighed: readonly Weighed[],
  chosen: Weighed,
  forced: boolean,
): string[] {
  return [
    `${axis} by ${chosen.way.title}${forced ? ", as you asked" : ""}: ${chosen.choice.because}.`,
    ...weighed
      .filter((one) => one !== chosen && one.choice.travelMm > 0)
      .map(
        ({ way, choice }) =>
          `Not by ${way.title}${choice.possible ? ", though it would reach" : ""}: ${choice.because}.`,
      ),
  ];
}

function tooMuchTilt(setting: Setting, wish: Wish, limit: (text: string) => void): void {
  if (!wish.altitude?.way.byJacks) return;
  const { up } = realTurns(setting, wish);
  if (Math.abs(up) > setting.base.tiltLimitDeg * DEGREE) {
    limit(
      `The altitude takes a north–south tilt of ${arcminutes(up / ARCMINUTE)}, more than the limit of ${setting.base.tiltLimitDeg}° out of level. Perhaps the base stood out of level before, or the frame was built for another latitude: look at both before turning.`,
    );
  }
}

/** Drops an axis whose correction is less than half a smallest turn. */
export function leaveSmall(setting: Setting, wish: Wish, reasons: string[]): Wish {
  const kept = (axis: AxisName) => {
    const one = wish[axis];
    if (one === null) return null;
    const size = Math.abs(one.to - setting.from[axis]);
    const step = smallestEffect(one.way, setting.latitudeDeg);
    if (size >= step / 2) return one;
    reasons.push(
      `${axisTitles[axis]}: left alone, for the correction of ${arcminutes(size)} is less than half of what one smallest turn does (${arcminutes(step)}).`,
    );
    return null;
  };
  return { altitude: kept("altitude"), east: kept("east") };
}
