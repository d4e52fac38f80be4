/**
 * Choosing the stars that together teach most.
 */

import type { KnownMount } from "../pointing/known-mount.js";
import { separation } from "../vectors.js";
import type { Candidate, CandidatePool } from "./candidates.js";
import { addSighting, type Information, informationFrom, varianceOf, varianceSaved } from "./information.js";
import type { LearningGoal } from "./options.js";

/** Places of the terms whose variances are to become small. */
export function targetsOf(known: KnownMount, goal: LearningGoal): number[] {
  const wanted = goal === "pole" ? ["polarAltitude", "polarEast"] : [goal];
  return known.names.flatMap((name, index) =>
    wanted.includes(name) && known.places[index]! >= 0 ? [index] : [],
  );
}

/** Whether a candidate stands far enough from all those chosen. */
function standsApart(
  candidate: Candidate,
  chosen: readonly Candidate[],
  except: number,
  apart: number,
): boolean {
  return chosen.every(
    (other, index) => index === except || separation(other.vector, candidate.vector) >= apart,
  );
}

function bestOf(
  from: readonly Candidate[],
  pool: CandidatePool,
  information: Information,
  targets: readonly number[],
  chosen: readonly Candidate[],
  except: number,
  apart: number,
): { candidate: Candidate; saved: number } | null {
  let best: { candidate: Candidate; saved: number } | null = null;
  for (const candidate of from) {
    const saved = varianceSaved(information, pool.choiceRows, candidate.at, targets);
    if (best !== null && saved <= best.saved) continue;
    if (chosen.some((other, index) => index !== except && other === candidate)) continue;
    if (!standsApart(candidate, chosen, except, apart)) continue;
    best = { candidate, saved };
  }
  return best;
}

/** Rounds of exchange; two or three settle it. */
const MOST_ROUNDS = 6;
/** An exchange must save this part of the variance to be worth making: less is rounding. */
const LEAST_SAVING = 1e-6;

/**
 * Chooses stars one after the other, each the one that then saves most variance, and then exchanges single stars while
 * that saves more (Fedorov 1972: an exchange design; the sum of the target variances is made small, A-optimality).
 *
 * @param information - before the first of them
 * @param count - how many
 * @param apart - least separation of any two, radians; given up where too few stars are left
 * @param begin - how many come from the stars of `beginFrom`, and stand first in what is answered
 */
export function chooseStars(
  pool: CandidatePool,
  information: Information,
  targets: readonly number[],
  count: number,
  apart: number,
  begin = 0,
  beginFrom: readonly Candidate[] = [],
): Candidate[] {
  const chosen: Candidate[] = [];
  const from = (place: number): readonly Candidate[] => (place < begin ? beginFrom : pool.candidates);
  const growing = informationFrom(information.covariance);
  while (chosen.length < count) {
    const next = from(chosen.length);
    const best =
      bestOf(next, pool, growing, targets, chosen, -1, apart) ??
      bestOf(next, pool, growing, targets, chosen, -1, 0);
    if (best === null) break;
    chosen.push(best.candidate);
    addSighting(growing, pool.choiceRows, best.candidate.at);
  }
  let least = varianceOf(growing, targets);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let changed = false;
    for (let place = 0; place < chosen.length; place++) {
      const without = informationFrom(information.covariance);
      chosen.forEach((other, index) => {
        if (index !== place) addSighting(without, pool.choiceRows, other.at);
      });
      const best = bestOf(from(place), pool, without, targets, chosen, place, apart);
      if (best === null || best.candidate === chosen[place]) continue;
      const left = varianceOf(without, targets) - best.saved;
      if (left < least * (1 - LEAST_SAVING)) {
        chosen[place] = best.candidate;
        least = left;
        changed = true;
      }
    }
    if (!changed) break;
  }
  const first = inTeachingOrder(pool, information, targets, chosen.slice(0, begin));
  return [
    ...first,
    ...inTeachingOrder(pool, informationAfter(information, pool, first), targets, chosen.slice(begin)),
  ];
}

function informationAfter(
  before: Information,
  pool: CandidatePool,
  sighted: readonly Candidate[],
): Information {
  const after = informationFrom(before.covariance);
  for (const { at } of sighted) addSighting(after, pool.choiceRows, at);
  return after;
}

/** The same stars, each the one that saves most when its turn comes. */
function inTeachingOrder(
  pool: CandidatePool,
  information: Information,
  targets: readonly number[],
  chosen: readonly Candidate[],
): Candidate[] {
  const growing = informationFrom(information.covariance);
  const left = [...chosen];
  const ordered: Candidate[] = [];
  while (left.length > 0) {
    let best = 0;
    let most = -1;
    left.forEach((candidate, index) => {
      const saved = varianceSaved(growing, pool.choiceRows, candidate.at, targets);
      if (saved > most) {
        most = saved;
        best = index;
      }
    });
    const [next] = left.splice(best, 1);
    ordered.push(next!);
    addSighting(growing, pool.choiceRows, next!.at);
  }
  return ordered;
}

/** The single star that saves most, with the next best ones after it. */
export function rankStars(
  pool: CandidatePool,
  worth: (candidate: Candidate) => number,
  count: number,
): Candidate[] {
  return pool.candidates
    .map((candidate) => ({ candidate, worth: worth(candidate) }))
    .sort((a, b) => b.worth - a.worth || a.candidate.star.hip - b.candidate.star.hip)
    .slice(0, count)
    .map(({ candidate }) => candidate);
}
