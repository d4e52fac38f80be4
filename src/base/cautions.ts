/** What can hurt when a heavy frame is moved on jacks. */

/** The cautions in brief: four lines to tick before a hand goes near the base. */
export const briefCautions: readonly string[] = [
  "Tube balanced and parked at its safest, both axes clamped: a tube out of balance swings when a clamp is loosened.",
  "Drive power off and unplugged, cables slack: mains in the dew kills.",
  "Nothing and nobody under the frame. Cribbing under it within a few millimetres. Fingers out from between ring and rollers.",
  "Two people: one turns, one watches and says stop. One adjuster at a time, within its rated load and travel.",
];

/** Cautions that go with every set of turns. */
export const everyTimeCautions: readonly string[] = [
  "Park the tube at its safest and lock both axes before touching a jack. Parked means: the tube where its weight hangs lowest and pulls on neither axis, covered, both clamps tight.",
  "Balance the tube first. A tube out of balance swings when a clamp is loosened, and strikes whoever stands there.",
  "Switch the drive power off and unplug it: mains in the dew kills. Leave cables slack, so that nothing pulls when the frame moves.",
  "Nothing and nobody under the frame, hands and feet included. Keep cribbing (stacked hardwood or steel blocks) under it within a few millimetres, moved along as it rises.",
  "Keep fingers out from between ring and rollers, and out of every bearing: the frame need only shift by a millimetre.",
  "Two people: one turns, one watches the feet, the bubble and the cables, and says stop.",
  "Stay within each jack's rated load and travel, with threads enough left in the nut. A jack is no stand: lock its nut when done.",
  "Lifting gear, and any change to the structure that carries the load, is for a qualified person. Local codes apply to the building and for the mains.",
  "By day keep the tube covered and away from the Sun: never look or sweep within 30 degrees of it.",
];

/** What goes with turning while somebody looks at a star. */
export const underStarCautions: readonly string[] = [
  "The tube stays balanced and both axes clamped. Only the drive may turn, at the star's rate; everything else on it is switched off.",
  "Whoever looks stands clear of the frame and touches neither tube nor frame. With a camera, look at the picture from a distance.",
  "Nobody is under anything. Whoever turns keeps the eyes on the jack, and stops at the word of whoever looks.",
  "The drive's cable must be out of the dew and away from feet in the dark. Light the floor, not the eye.",
];

/** What the set of turns brings with it. */
export interface TurnsNature {
  readonly softJacks: readonly string[];
  readonly lowers: boolean;
  /** The cautions of the adjusters that move. */
  readonly adjusters: readonly string[];
  readonly tiltArcmin: number;
}

/** Tilt from which a tall mount's balance should be looked at again, arcminutes. */
const LARGE_TILT_ARCMIN = 60;

/** The cautions for one set of turns. */
export function cautionsFor({ softJacks, lowers, adjusters, tiltArcmin }: TurnsNature): string[] {
  const cautions = [...everyTimeCautions, ...adjusters];
  if (softJacks.length > 0) {
    cautions.push(
      `Soft ground under ${softJacks.join(", ")}: put a plate under the foot. Let it settle for some minutes after each step, and look at the level again before going on.`,
    );
  }
  if (lowers) {
    cautions.push(
      "Some jacks are lowered: take the cribbing down with them step by step, never further than the next step.",
    );
  }
  if (tiltArcmin > LARGE_TILT_ARCMIN) {
    cautions.push(
      "The base is tilted by more than a degree: see that the feet cannot creep on the floor and that the frame cannot tip.",
    );
  }
  return cautions;
}
