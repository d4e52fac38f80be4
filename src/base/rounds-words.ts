import { DAY_MS } from "../sky/time.js";
import { noteText } from "../words/notes.js";
import { WORTH_TURNING } from "./another-round.js";
import type { AxisPlace } from "./axis-motion.js";
import { arcminutes, eastOrWest, highOrLow } from "./base-words.js";
import { type Knowledge, placeNow } from "./place-and-gains.js";
import type { RoundNote } from "./round-note.js";
import type { LearnedGain, RoundGiven, RoundReport, RoundsResult } from "./rounds-result.js";
import type { TurnAdvice } from "./turn-advice.js";

export function unsoundNight(round: number): RoundNote {
  return {
    code: "unsound-night",
    round,
    adjusters: [],
    message: `Night ${round} cannot be trusted as it stands, so it teaches nothing.`,
    remedy:
      "Correct what that night's fit names. The turns made after it are counted to the night before it.",
  };
}

export function settlingNote(
  round: number,
  change: readonly number[],
  from: RoundGiven,
  night: RoundGiven,
): RoundNote {
  const days =
    from.meanTimeMs === null || night.meanTimeMs === null
      ? null
      : (night.meanTimeMs - from.meanTimeMs) / DAY_MS;
  const [altitude, east] = [change[0]!, change[1]!];
  const rate =
    days === null || days < 0.1
      ? ""
      : ` in ${days.toFixed(1)} days, ${arcminutes(Math.hypot(altitude, east) / days)} a day`;
  return {
    code: "settling",
    round,
    adjusters: [],
    message: `Nothing was turned after night ${round}, yet the axis moved ${arcminutes(altitude)} ${altitude < 0 ? "down" : "up"} and ${arcminutes(east)} ${east < 0 ? "west" : "east"}${rate}.`,
    remedy:
      "The floor or a foot settles, or something on the base is loose. Look at plates, lock nuts and clamps; turn only when two nights agree.",
  };
}

/** An axis that wanders of itself over several nights, each step too small to be told alone. */
export function wanderNote(round: number, wander: number): RoundNote {
  return {
    code: "settling",
    round,
    adjusters: [],
    message: `Between the nights the axis wanders of itself, by about ${arcminutes(wander * Math.sqrt(30))} a month. The latest nights count most.`,
    remedy:
      "The floor or a foot settles, or something on the base is loose. Look at plates, lock nuts and clamps.",
  };
}

export function sightAgain(round: number, known: Knowledge): RoundNote {
  const now = placeNow(known);
  return {
    code: "sight-again",
    round,
    adjusters: [],
    message: `The turns of round ${round} have not been sighted yet. The axis should now be ${arcminutes(now.altitude.value)} ± ${arcminutes(now.altitude.uncertainty)} ${highOrLow(now.altitude.value)} and ${arcminutes(now.east.value)} ± ${arcminutes(now.east.uncertainty)} ${eastOrWest(now.east.value)}.`,
    remedy: "Sight a night of stars before turning again.",
  };
}

/** A change that nothing explains, with what has been made of it. */
export function takenAsFound(note: RoundNote, how: string): RoundNote {
  return { ...note, remedy: `${note.remedy} What was found is taken as it is, ${how}.` };
}

export function gainNote(gain: LearnedGain, round: number): RoundNote {
  const axis = gain.axis === "altitude" ? "Altitude" : "East–west";
  return {
    code: "gain-learned",
    round,
    adjusters: [],
    message: `${axis} by ${gain.means}: the axis follows by ${gain.value.toFixed(2)} ± ${gain.uncertainty.toFixed(2)} of what is asked.`,
    remedy: "The next turns allow for it.",
  };
}

export function story(
  rounds: readonly RoundReport[],
  now: RoundsResult["now"],
  next: TurnAdvice | null,
  notes: readonly RoundNote[],
): string[] {
  const way = (place: AxisPlace): string =>
    `${arcminutes(place.altitude)} ${place.altitude < 0 ? "down" : "up"} and ${arcminutes(place.east)} ${place.east < 0 ? "west" : "east"}`;
  const told = rounds.flatMap((round) =>
    round.found === null
      ? []
      : [
          `Round ${round.round}: asked for ${way(round.asked)}, found ${way({ altitude: round.found.altitude.value, east: round.found.east.value })} (± ${arcminutes(round.found.altitude.uncertainty)}, ± ${arcminutes(round.found.east.uncertainty)}).`,
        ],
  );
  return [
    ...told,
    ...notes.map(noteText),
    `Now the axis is ${arcminutes(now.distance.value)} ± ${arcminutes(now.distance.uncertainty)} from the true pole.`,
    ...(next === null
      ? []
      : next.recommended
        ? [WORTH_TURNING]
        : next.verdict === "stop"
          ? ["No further round is worth turning."]
          : next.reasons.slice(0, 1)),
  ];
}
