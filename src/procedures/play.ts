import type { Mount } from "../mount/mount.js";
import { difference, meanOf, times } from "./measurements.js";
import type { Procedure, ProcedurePicture } from "./procedure.js";

const READING = { from: -1e10, to: 1e10 };
const axisOf = { meaning: "1 for the hour-angle axis, 2 for the declination axis", usual: 1, from: 1, to: 2 };

/** Arcminutes for one unit of an axis's reading, and the smallest step in that unit. */
function arcminOf(mount: Mount, axis: number): { perReading: number; step: number } {
  const readings = axis === 1 ? mount.readings.hourAngle : mount.readings.declination;
  return { perReading: (360 * 60) / readings.perTurn, step: readings.smallest };
}

function picture(
  lines: readonly { readonly name: string; readonly values: readonly number[] }[],
  summary: string,
): ProcedurePicture {
  return {
    x: "which time",
    y: "reading",
    lines: lines.map(({ name, values }) => ({
      name,
      joined: false,
      points: values.map((value, i) => [i + 1, value] as const),
    })),
    summary,
  };
}

/** Play by approach from both sides. */
export const backlash: Procedure = {
  name: "backlash",
  title: "The play of an axis, by approach from both sides",
  steps: [
    "Choose a far, sharp mark on the ground at night or by day away from the Sun (or a star near the pole). Put the cross-wire on it.",
    "Come from the one side, stop on the mark, write down the reading: plus. Go well past, five times or more.",
    "Come from the other side to the same mark as often: minus.",
    "Do it for each axis. The clamp and the balance must be as they are at work.",
  ],
  write: {
    plus: { meaning: "readings when the angle was growing", usual: null, several: true, ...READING },
    minus: { meaning: "readings when it was falling", usual: null, several: true, ...READING },
    axis: axisOf,
  },
  cautions: [
    "By day keep the telescope 30° and more from the Sun, and its cap on until it points at the mark.",
  ],
  work(written, mount) {
    const { perReading, step } = arcminOf(mount, written.axis![0]!);
    const play = times(difference(meanOf(written.plus!, step), meanOf(written.minus!, step)), perReading);
    const isSeen = Math.abs(play.value) > 2 * play.uncertainty;
    return {
      sentence: isSeen
        ? `The play is ${Math.abs(play.value).toFixed(1)}′ ± ${play.uncertainty.toFixed(1)}′.`
        : `No play is seen: ${play.value.toFixed(1)}′ ± ${play.uncertainty.toFixed(1)}′. More than ${(Math.abs(play.value) + 2 * play.uncertainty).toFixed(1)}′ would have shown.`,
      found: [{ name: "play", unit: "arcminutes", ...play }],
      next: isSeen
        ? [
            "Approach every star from the same side, or write the side into hourAngleApproach and declinationApproach.",
          ]
        : [],
      picture: picture(
        [
          { name: "angle growing", values: written.plus! },
          { name: "angle falling", values: written.minus! },
        ],
        "Readings at one mark, approached from both sides: the distance of both rows is the play.",
      ),
    };
  },
};

/** What stays behind after a long way: sight A, go far, come back. */
export const hysteresis: Procedure = {
  name: "hysteresis",
  title: "What stays behind: sight A, go far, come back",
  steps: [
    "Put the cross-wire on a far mark, always coming from the same side; write down the reading: first. Repeat five times.",
    "Turn the axis far away, a quarter of a turn and more, and come back to the mark from the same side: back. Repeat as often.",
  ],
  write: {
    first: { meaning: "readings before the long way", usual: null, several: true, ...READING },
    back: { meaning: "readings after it", usual: null, several: true, ...READING },
    axis: axisOf,
  },
  cautions: ["By day keep the telescope 30° and more from the Sun on the whole way, its cap on."],
  work(written, mount) {
    const { perReading, step } = arcminOf(mount, written.axis![0]!);
    const left = times(difference(meanOf(written.back!, step), meanOf(written.first!, step)), perReading);
    const isSeen = Math.abs(left.value) > 2 * left.uncertainty;
    return {
      sentence: isSeen
        ? `After the long way ${left.value.toFixed(1)}′ ± ${left.uncertainty.toFixed(1)}′ stay behind.`
        : `Nothing stays behind: ${left.value.toFixed(1)}′ ± ${left.uncertainty.toFixed(1)}′.`,
      found: [{ name: "left behind", unit: "arcminutes", ...left }],
      next: isSeen
        ? [
            "Look for a roller or wheel that slips, a clamp that gives, a mirror that shifts. Until it is found, sight often: zeros creep.",
          ]
        : [],
      picture: picture(
        [
          { name: "before the long way", values: written.first! },
          { name: "after it", values: written.back! },
        ],
        "Readings at one mark before and after a long way of the axis.",
      ),
    };
  },
};
