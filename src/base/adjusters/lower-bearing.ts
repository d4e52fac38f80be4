/** The bearing at the low end of the polar axis, moved east or west, up or down. */
import { DEGREE } from "../../angles.js";
import { stillBase } from "../axis-motion.js";
import { type Adjuster, type BaseFacts, endOf, type SimpleWay, simpleAdjuster } from "./adjuster.js";
import { slidingEnd } from "./slide.js";

const LOWER_BEARING = "lower bearing";
/** How finely a bearing without a screw can be shimmed, millimetres: common feeler gauges. */
export const SHIM_STEP_MM = 0.05;
/** Where the low end of the axis is drawn, as a part of the way from the middle to the edge. */
const LOW_END_PART = 0.45;
/** Steeper than this (cos φ) moving the bearing up and down hardly moves the axis. */
const LEAST_EFFECT = 0.1;

export function lowerBearing(facts: BaseFacts): Adjuster | null {
  const bearing = facts.base.lowerBearing;
  if (bearing === null) return null;
  const { axisLengthMm, eastWestPitchMm, upDownPitchMm, smallestTurn, travelMm } = bearing;
  const way = (
    pitchMm: number | null,
    sides: string,
  ): Pick<SimpleWay, "by" | "title" | "pitchMm" | "smallestMm" | "travelMm" | "words" | "step"> => ({
    by: "lowerBearing",
    title: "the lower bearing",
    pitchMm,
    smallestMm: pitchMm === null ? SHIM_STEP_MM : pitchMm * smallestTurn,
    travelMm,
    words: (mm) =>
      `${Math.abs(mm).toFixed(2)} mm ${sides}${pitchMm === null ? ", by shims (it has no screw that way)" : ""}`,
    step: (direction, far, turns) =>
      turns === null
        ? `Move the lower bearing ${far} ${direction} with shims.`
        : `Move the lower bearing ${direction} by ${turns}: ${far}.`,
  });
  const steep = Math.cos(facts.latitudeDeg * DEGREE) < LEAST_EFFECT;
  const caution =
    "Lower bearing: carry the weight of the axis on cribbing before its clamp is slackened. Keep fingers out of the bearing, and out from between ring and rollers.";
  // At the low end of the axis, a little inside the edge where bolts may be.
  const spot = { title: LOWER_BEARING, ...endOf(facts.base, slidingEnd(facts.latitudeDeg), LOW_END_PART) };
  const ways: SimpleWay[] = [
    {
      ...way(eastWestPitchMm, "east or west"),
      axis: "east",
      motion: (bearingEast) => ({ ...stillBase, bearingEast }),
      mmPerUnit: axisLengthMm,
      directions: ["east", "west"],
      lack: null,
    },
    {
      ...way(upDownPitchMm, "up or down"),
      axis: "altitude",
      motion: (bearingUp) => ({ ...stillBase, bearingUp }),
      mmPerUnit: axisLengthMm,
      directions: ["up", "down"],
      lack: steep ? "the axis is too steep for moving the lower bearing up and down" : null,
    },
  ];
  return simpleAdjuster(LOWER_BEARING, facts, caution, ways, spot);
}
