/** What can hurt when a heavy frame is moved on jacks. */

/** Cautions that go with every set of turns. */
export const everyTimeCautions: readonly string[] = [
  "Park the tube at its safest and lock both axes before touching a jack.",
  "Switch the drive power off and unplug it: mains in the dew kills. Leave cables slack, so that nothing pulls when the frame moves.",
  "Nothing and nobody under the frame, hands and feet included, and cribbing (stacked hardwood or steel blocks) under it within a few millimetres, moved along as it rises.",
  "Two people: one turns, one watches the feet, the bubble and the cables, and says stop.",
  "One jack at a time, in the small steps given. Stop if a jack goes stiff or suddenly easy: the foot has taken too much weight or lost it.",
  "Stay within each jack's rated load and travel, with threads enough left in the nut. A jack is no stand: lock its nut when done.",
  "Lifting gear, and any change to the structure that carries the load, is for a qualified person; local codes hold for the building and for the mains.",
  "By day keep the tube covered and away from the Sun: never look or sweep within 30 degrees of it.",
];

/** What the set of turns brings with it. */
export interface TurnsNature {
  readonly softJacks: readonly string[];
  readonly lowers: boolean;
  readonly slides: boolean;
  readonly boltsMove: boolean;
  readonly bearingMoves: boolean;
  readonly tiltArcmin: number;
}

/** Tilt from which a tall mount's balance should be looked at again, arcminutes. */
const LARGE_TILT_ARCMIN = 60;

/** The cautions for one set of turns. */
export function cautionsFor(nature: TurnsNature): string[] {
  const cautions = [...everyTimeCautions];
  if (nature.softJacks.length > 0) {
    cautions.push(
      `Soft ground under ${nature.softJacks.join(", ")}: put a plate under the foot, let it settle for some minutes after each step, and look at the level again before going on.`,
    );
  }
  if (nature.lowers)
    cautions.push(
      "Some jacks are lowered: take the cribbing down with them step by step, never further than the next step.",
    );
  if (nature.boltsMove) {
    cautions.push(
      "Azimuth bolts: slacken the clamps and the opposite bolt only as far as the next step; never push against a tight bolt.",
    );
  }
  if (nature.slides) {
    cautions.push(
      "Sliding the base: keep every foot on its plate, use a lever or a screw and not a hammer, and never lift one end and push at the same time.",
    );
  }
  if (nature.bearingMoves) {
    cautions.push(
      "Lower bearing: carry the weight of the axis on cribbing before its clamp is slackened; keep fingers out of the bearing.",
    );
  }
  if (nature.tiltArcmin > LARGE_TILT_ARCMIN) {
    cautions.push(
      "The base is tilted by more than a degree: see that the feet cannot creep on the floor and that the frame cannot tip.",
    );
  }
  return cautions;
}
