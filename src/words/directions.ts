/**
 * Which way an error goes, in words.
 */

/** `too high` or `too low`. */
export function highOrLow(altitude: number): "too high" | "too low" {
  return altitude < 0 ? "too low" : "too high";
}

/** `too far east` or `too far west`. */
export function eastOrWest(east: number): "too far east" | "too far west" {
  return east < 0 ? "too far west" : "too far east";
}

const COMPASS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
const LOW_DEG = 30;
const HIGH_DEG = 60;
const OVERHEAD_DEG = 80;

/**
 * Where on the sky something stands, as one points with an arm: `half up in the south`.
 *
 * @param altitudeDeg - degrees above the horizon
 * @param azimuthDeg - degrees from north through east
 */
export function whereInWords(altitudeDeg: number, azimuthDeg: number): string {
  if (altitudeDeg >= OVERHEAD_DEG) return "nearly overhead";
  const high = altitudeDeg < LOW_DEG ? "low" : altitudeDeg < HIGH_DEG ? "half up" : "high";
  return `${high} in the ${COMPASS[((Math.round(azimuthDeg / 45) % 8) + 8) % 8]}`;
}

const ways: Readonly<Record<string, readonly [string, string]>> = {
  hourAngleZero: ["reads west", "reads east"],
  declinationZero: ["reads north", "reads south"],
  polarAltitude: ["too high", "too low"],
  polarEast: ["too far east", "too far west"],
  cone: ["tube leans east", "tube leans west"],
  squareness: ["east end southward", "east end northward"],
  tubeSag: ["droops", "lifts"],
  ringSag: ["reads north", "reads south"],
  trunnionSag: ["reads west", "reads east"],
  hourAngleScale: ["reads too much", "reads too little"],
  declinationScale: ["reads too much", "reads too little"],
};

/** Which way a term goes by the sign of its value, in two or three words; empty where the sign says little. */
export function wayText(name: string, value: number): string {
  const pair = ways[name];
  return pair === undefined ? "" : value < 0 ? pair[1] : pair[0];
}
