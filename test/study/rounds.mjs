// Two rounds of turns: sight, turn as advised, sight, turn; screws and floor follow by 0.85 to 1.1 of what is asked.
import { kinds } from "./night-kinds.mjs";
import { between, drawMount, drawSpan, drawTerms, pick, whole } from "./nights.mjs";

/** Encoders that a builder would have on such a mount. */
const perTurn = [8192, 10_000, 16_384];

/**
 * @returns the polar error before and after each round, arcminutes, and the rounds in which turns were not advised
 */
export function twoRounds(library, seed) {
  const random = library.seededRandom(seed ^ 0x5bd1e995);
  const steps = pick(random, perTurn);
  const kind = { ...kinds.plain, perTurn: [steps, steps] };
  const mount = drawMount(library, random, kind);
  const terms = drawTerms(library, random, kind.widestArcmin);
  const gains = { tilt: between(random, 0.85, 1.1), bolts: between(random, 0.85, 1.1) };
  let place = { altitude: terms.polarAltitude, east: terms.polarEast };
  const left = [Math.hypot(place.altitude, place.east)];
  while (left.length < 3) {
    let night;
    try {
      night = library.simulateNight({
        seed: whole(random, 1, 2 ** 31),
        mount,
        terms: { ...terms, polarAltitude: place.altitude, polarEast: place.east },
        targets: 24,
        ...drawSpan(library, random, mount.site, kind.hours),
      });
    } catch (problem) {
      if (problem.code !== "no-star-up") throw problem;
      continue;
    }
    const made = library.turnsOfAdvice(library.jackTurns(library.fitMount(night))).map((turn) => {
      const gain = turn.adjuster === "azimuth bolts" ? gains.bolts : gains.tilt;
      return { ...turn, turns: turn.turns * gain, mm: turn.mm === null ? null : turn.mm * gain };
    });
    place = library.applyTurns(mount.base, made, mount.site, place);
    left.push(Math.hypot(place.altitude, place.east));
  }
  return { seed, latitude: Math.round(mount.site.latitude), left };
}
