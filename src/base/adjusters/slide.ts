/** Sliding one end of the whole base, where nothing else reaches or a tilt would cost too much. */
import type { Base } from "../../mount/mount.js";
import { stillBase } from "../axis-motion.js";
import { jackFrame } from "../jack-frame.js";
import {
  type Adjuster,
  azimuthLack,
  type BaseFacts,
  endOf,
  type SimpleWay,
  simpleAdjuster,
  turnPerMm,
} from "./adjuster.js";

export const BASE_SLIDE = "base";
/** How finely a base can be slid against a stop that shows its way, millimetres. */
const SLIDE_STEP_MM = 0.5;

/** The end of the base that is slid: the low end of the axis, which carries less than the ring or fork does. */
export function slidingEnd(latitudeDeg: number): "north" | "south" {
  return latitudeDeg < 0 ? "north" : "south";
}

/** From the sliding end to the end that stays: the jacks' extent, else what is known, millimetres. */
export function slideLever(base: Base): number {
  const extent = jackFrame(base.jacks)?.northExtent ?? 0;
  return extent > 0 ? extent : (base.azimuthBolts?.leverMm ?? base.lowerBearing?.axisLengthMm ?? 1000);
}

export function slide(facts: BaseFacts): Adjuster {
  const end = slidingEnd(facts.latitudeDeg);
  const caution =
    "Sliding the base: keep every foot on its plate. Push with a screw, a clamp or a lever against a fixed stop, never with a hammer. Never lift one end and push at the same time.";
  const spot = { title: `slide the ${end} end`, ...endOf(facts.base, end) };
  const ways: SimpleWay[] = [
    {
      axis: "east",
      by: "slide",
      title: "sliding the base",
      motion: (turn) => ({ ...stillBase, turn }),
      mmPerUnit: 1 / turnPerMm(end, slideLever(facts.base)),
      directions: ["east", "west"],
      pitchMm: null,
      smallestMm: SLIDE_STEP_MM,
      travelMm: null,
      lack: azimuthLack(facts.latitudeDeg),
      words: (mm) => `its ${end} end ${Math.abs(mm).toFixed(1)} mm`,
      step: (direction, far) =>
        `Slide the ${end} end of the base ${far} to the ${direction}, against a stop with a feeler gauge or a dial. The other end stays where it is. Then see that every foot bears.`,
    },
  ];
  return simpleAdjuster(BASE_SLIDE, facts, caution, ways, spot);
}
