/** Bolts that push an end of the base east or west. */
import { stillBase } from "../axis-motion.js";
import {
  type Adjuster,
  azimuthLack,
  type BaseFacts,
  endOf,
  type SimpleWay,
  simpleAdjuster,
  turnPerMm,
} from "./adjuster.js";

const AZIMUTH_BOLTS = "azimuth bolts";

export function azimuthBolts(facts: BaseFacts): Adjuster | null {
  const bolts = facts.base.azimuthBolts;
  if (bolts === null) return null;
  const { end, leverMm, pitchMm, smallestTurn, travelMm } = bolts;
  const caution =
    "Azimuth bolts: slacken the clamps and the opposite bolt only as far as the next step. Never push against a tight bolt.";
  const spot = { title: `${AZIMUTH_BOLTS}: ${end} end`, ...endOf(facts.base, end) };
  const ways: SimpleWay[] = [
    {
      axis: "east",
      by: "bolts",
      title: "the azimuth bolts",
      motion: (turn) => ({ ...stillBase, turn }),
      mmPerUnit: 1 / turnPerMm(end, leverMm),
      directions: ["east", "west"],
      pitchMm,
      smallestMm: pitchMm * smallestTurn,
      travelMm,
      lack: azimuthLack(facts.latitudeDeg),
      words: (mm) => `the ${end} end moves ${Math.abs(mm).toFixed(2)} mm`,
      step: (direction, far, turns) =>
        `At the ${end} end: back the ${direction} bolt off by ${turns}, then push with the ${direction === "east" ? "west" : "east"} bolt by ${turns}: that end moves ${far} ${direction}.`,
    },
  ];
  return simpleAdjuster(AZIMUTH_BOLTS, facts, caution, ways, spot);
}
