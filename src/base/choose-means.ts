/** What is to move each axis, with the reasons; what is too far or too small is cut or left. */
import { ARCMINUTE, DEGREE } from "../angles.js";
import {
  altitudePreference,
  azimuthPreference,
  isSolved,
  lacking,
  preferred,
  reachablePart,
  realTurns,
  type Setting,
  smallestEffect,
  type Wish,
  weigh,
} from "./adjusters.js";
import { arcminutes, meansNames, millimetres } from "./base-words.js";
import { stepOf } from "./round-wish.js";
import type { AdjusterChoice, AltitudeMeans, AzimuthMeans } from "./turn-advice.js";
import type { AimPlace, TurnOptions } from "./turn-question.js";
import { slideLever, slidingEnd } from "./turns-made.js";

/** Less of a correction than this is not worth starting. */
const WORTH_GOING = 0.01;

/** Settles on what moves each axis, with the reasons; far corrections are cut to what the travel allows. */
export function chooseMeans(
  setting: Setting,
  aim: AimPlace,
  wantsAltitude: boolean,
  wantsEast: boolean,
  options: TurnOptions,
  reasons: string[],
): { readonly wish: Wish; readonly choices: readonly AdjusterChoice[]; readonly blocked: boolean } {
  const choices: AdjusterChoice[] = [];
  let blocked = false;
  let altitude: Wish["altitude"] = null;
  if (wantsAltitude) {
    const weighedOnes = altitudePreference.map((by) =>
      weigh(setting, "altitude", by, { altitude: { by, to: aim.altitude }, east: null }),
    );
    const forced = options.altitudeBy ?? "auto";
    const by =
      forced !== "auto"
        ? forced
        : (preferred(setting.base, weighedOnes, altitudePreference) ??
          altitudePreference.find((one) => lacking(setting, "altitude", one) === null) ??
          null);
    choices.push(...weighedOnes.map((choice) => ({ ...choice, chosen: choice.by === by })));
    if (by === null) {
      blocked = true;
      reasons.push(
        `Altitude: nothing can move the axis up or down (${weighedOnes.map((choice) => `${meansNames[choice.by]}: ${choice.because}`).join("; ")}). Shim the base by ${arcminutes(aim.altitude - setting.from.altitude)}.`,
      );
    } else {
      const part = reachablePart((some) =>
        reaches(setting, {
          altitude: { by, to: along(setting.from.altitude, aim.altitude, some) },
          east: null,
        }),
      );
      if (part < WORTH_GOING) blocked = true;
      else altitude = { by, to: along(setting.from.altitude, aim.altitude, part) };
      reasons.push(...choiceReasons("Altitude", weighedOnes, by, forced !== "auto"));
      if (part < 1)
        reasons.push(partReason(setting, "altitude", by, part, aim.altitude - setting.from.altitude));
      else if (altitude !== null) northTiltReason(setting, altitude, reasons);
    }
  }
  let east: Wish["east"] = null;
  if (wantsEast) {
    const weighedOnes = azimuthPreference.map((by) =>
      weigh(setting, "east", by, { altitude, east: { by, to: 0 } }),
    );
    const forced = options.azimuthBy ?? "auto";
    const by =
      forced !== "auto"
        ? forced
        : (preferred(setting.base, weighedOnes, azimuthPreference) ??
          azimuthPreference.find((one) => lacking(setting, "east", one) === null) ??
          null);
    choices.push(...weighedOnes.map((choice) => ({ ...choice, chosen: choice.by === by })));
    if (by === null) {
      blocked = true;
      reasons.push(
        `East–west: nothing can move the axis (${weighedOnes.map((choice) => `${meansNames[choice.by]}: ${choice.because}`).join("; ")})`,
      );
    } else {
      const part = reachablePart((some) =>
        reaches(setting, { altitude, east: { by, to: along(setting.from.east, 0, some) } }),
      );
      if (part < WORTH_GOING) blocked = true;
      else east = { by, to: along(setting.from.east, 0, part) };
      reasons.push(...choiceReasons("East–west", weighedOnes, by, forced !== "auto"));
      if (part < 1) reasons.push(partReason(setting, "east", by, part, setting.from.east));
    }
  }
  return { wish: { altitude, east }, choices, blocked };
}

function along(from: number, to: number, part: number): number {
  return from + (to - from) * part;
}

/** Whether a wish stays within every travel (the builder's tilt limit is for choosing, not for forbidding). */
function reaches(setting: Setting, wish: Wish): boolean {
  const real = realTurns(setting, wish);
  if (!isSolved(real) || real.risesMm === null) return false;
  const { azimuthBolts, lowerBearing } = setting.base;
  if (wish.east?.by === "bolts" && azimuthBolts?.travelMm != null) {
    if (Math.abs(real.over) * azimuthBolts.leverMm > azimuthBolts.travelMm) return false;
  }
  if (lowerBearing?.travelMm != null) {
    const { axisLengthMm, travelMm } = lowerBearing;
    if (wish.east?.by === "lowerBearing" && Math.abs(real.over) * axisLengthMm > travelMm) return false;
    if (wish.altitude?.by === "lowerBearing" && Math.abs(real.up) * axisLengthMm > travelMm) return false;
  }
  return true;
}

function choiceReasons(
  axis: string,
  choices: readonly AdjusterChoice[],
  by: AzimuthMeans | AltitudeMeans,
  forced: boolean,
): string[] {
  const chosen = choices.find((choice) => choice.by === by)!;
  const others = choices.filter((choice) => choice.by !== by && choice.travelMm > 0);
  return [
    `${axis} by ${meansNames[by]}${forced ? ", as you asked" : ""}: ${chosen.because}.`,
    ...others.map(
      (choice) =>
        `Not by ${meansNames[choice.by]}${choice.possible ? ", though it would reach" : ""}: ${choice.because}.`,
    ),
  ];
}

function partReason(
  setting: Setting,
  axis: "altitude" | "east",
  by: AzimuthMeans | AltitudeMeans,
  part: number,
  whole: number,
): string {
  const rest = arcminutes(whole * (1 - part));
  const remedy =
    by === "jacks"
      ? `For the rest pack the feet of the ${sideToRaise(setting, whole)} side by about ${millimetres((setting.frame?.northExtent ?? 0) * whole * (1 - part) * ARCMINUTE)}, set the jacks back to the middle of their travel, and sight again.`
      : by === "tilt"
        ? `For the rest slide the base: its ${slidingEnd(setting.latitudeDeg)} end about ${millimetres((slideLever(setting.base) * whole * (1 - part) * ARCMINUTE) / Math.max(0.01, Math.cos(setting.latitudeDeg * DEGREE)))}.`
        : "For the rest move the whole base, set this adjuster back to the middle of its travel, and sight again.";
  return `${axis === "altitude" ? "Altitude" : "East–west"}: ${meansNames[by]} ${by === "tilt" || by === "lowerBearing" ? "reaches" : "reach"} only ${Math.round(100 * part)} % of the way; ${rest} stays. ${remedy}`;
}

/** The side to raise for an axis that is too low or too high by `change`: what raises the elevated end. */
function sideToRaise(setting: Setting, change: number): "north" | "south" {
  const northern = setting.latitudeDeg >= 0;
  return change > 0 === northern ? "north" : "south";
}

function northTiltReason(setting: Setting, altitude: NonNullable<Wish["altitude"]>, reasons: string[]): void {
  if (altitude.by !== "jacks") return;
  const { up } = realTurns(setting, { altitude, east: null });
  if (Math.abs(up) > setting.base.tiltLimitDeg * DEGREE) {
    reasons.push(
      `The altitude takes a north–south tilt of ${arcminutes(up / ARCMINUTE)}, more than the limit of ${setting.base.tiltLimitDeg}° out of level: the base may have stood out of level before, or the frame was built for another latitude; look at both before turning.`,
    );
  }
}

/** Drops an axis whose correction is less than half a smallest turn. */
export function leaveSmall(setting: Setting, wish: Wish, reasons: string[]): Wish {
  const check = (axis: "altitude" | "east", to: number, by: AzimuthMeans | AltitudeMeans): boolean => {
    const size = Math.abs(to - setting.from[axis]);
    const step = smallestEffect(setting, axis, by, stepOf(setting.base, axis, by));
    if (size >= step / 2) return true;
    reasons.push(
      `${axis === "altitude" ? "Altitude" : "East–west"}: left alone, for the correction of ${arcminutes(size)} is less than half of what one smallest turn does (${arcminutes(step)}).`,
    );
    return false;
  };
  return {
    altitude:
      wish.altitude !== null && check("altitude", wish.altitude.to, wish.altitude.by) ? wish.altitude : null,
    east: wish.east !== null && check("east", wish.east.to, wish.east.by) ? wish.east : null,
  };
}
