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
