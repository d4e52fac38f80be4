/** The procedures at the mount, by name. */
import { balance } from "./balance.js";
import { encoderByDiameter, encoderByTurn } from "./encoder.js";
import { zerosByLevel } from "./level.js";
import { backlash, hysteresis } from "./play.js";
import { plumbNorth } from "./plumb-north.js";
import type { Procedure } from "./procedure.js";

export const procedures: readonly Procedure[] = [
  encoderByTurn,
  encoderByDiameter,
  backlash,
  hysteresis,
  zerosByLevel,
  balance,
  plumbNorth,
];
