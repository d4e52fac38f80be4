// One night of the study, from the name of its world (or "two rounds of turns") and a seed.
import { drawWorldNight } from "./draw-world.mjs";
import { judge } from "./judge.mjs";
import { twoRounds } from "./rounds.mjs";
import { worlds } from "./world-table.mjs";

export const ROUNDS = "two rounds of turns";
const ROUNDS_SHARE = 600;

/** Name and nights of a full study of all that the study runs. */
export const experiments = [
  ...worlds.map(({ name, share }) => ({ name, share })),
  { name: ROUNDS, share: ROUNDS_SHARE },
];

/** Runs one night; where the mount is unchanged and its terms are asked for, a second one too, for the comparison. */
export function runOne(library, name, seed) {
  if (name === ROUNDS) return twoRounds(library, seed);
  const night = drawWorldNight(library, name, seed);
  const fit = library.fitMount(night);
  const isCompared = fit.sound && night.world.of !== "long" && night.world.goals.pole !== undefined;
  const later = isCompared ? library.fitMount(night.another()) : null;
  const comparison = later?.sound ? library.compareModels(fit, later) : null;
  return { seed, ...judge(library, fit, night, comparison) };
}
