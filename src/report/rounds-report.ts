/** Rounds of sighting and turning, in words. */

import { turnsOf as turnsPhrase } from "../base/base-words.js";
import type { PlaceEstimate, RoundReport, RoundsResult } from "../base/rounds-result.js";
import type { TurnMade } from "../base/turns-made.js";
import type { Mount } from "../mount/mount.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { listText } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { arcminText, estimateText, fixed, sizeText } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";
import { turnsReport } from "./turns-report.js";

/**
 * What the rounds did, what they taught of screws and floor, and what to turn next with the cautions; or that this is the
 * place to stop.
 *
 * @param result - from `rounds` or `learnRounds`
 * @param mount - the mount, for its name
 */
export function roundsReport(result: RoundsResult, mount: Mount): Report {
  const { next } = result;
  const blocks: Block[] = [block.verdict(verdict(result))];
  const troubles = result.notes.filter((note) => note.code !== "gain-learned");
  blocks.push(
    ...troubles.map((note) => block.note(noteText(note))),
    block.sentence(
      `All nights together, the axis now points ${placeText(result.now)}, ${sizeText(result.now.distance)} from the pole.`,
    ),
  );
  const turned = result.rounds.filter((round) => round.turnsMade.length > 0);
  if (turned.length > 0) {
    blocks.push(
      block.heading("What was turned"),
      block.list(turned.map((round) => `After night ${round.round}: ${madeText(round.turnsMade)}.`)),
    );
  }
  const told = result.rounds.filter((round) => round.found !== null && round.turnsMade.length > 0);
  if (told.length > 0) blocks.push(followedTable(told));
  const taught = result.gains.filter((gain) => gain.learned);
  if (taught.length > 0) {
    blocks.push(
      block.list(
        taught.map(
          (gain) =>
            `${gain.axis === "altitude" ? "Altitude" : "East–west"} by ${gain.means}: the axis follows by ${fixed(gain.value, 2)} ± ${fixed(gain.uncertainty, 2)} of what is asked. The next turns allow for it.`,
        ),
      ),
    );
  }
  if (next !== null) {
    blocks.push(block.heading(next.recommended ? "The next turns" : "Why no more turns"));
    blocks.push(...turnsReport(next).blocks.filter((block) => block.kind !== "picture"));
  }
  return { title: `Rounds on ${mount.name}`, blocks };
}

function verdict({ next, verdict: what, missing }: RoundsResult): string {
  if (next === null) return "Turns have been made since the last night: sight again before turning more.";
  switch (what) {
    case "turn":
      return "Another round is worth turning.";
    case "stop":
      return "Stop here: no further round is worth turning.";
    case "not-known-yet":
      return `Not known yet: turn nothing. Sight ${missing} more ${missing === 1 ? "star" : "stars"}, well spread over the sky.`;
    case "unsound":
      return "Turn nothing: something is wrong that must be corrected first.";
  }
}

function placeText({ altitude, east }: PlaceEstimate): string {
  return `${sizeText(altitude)} ${highOrLow(altitude.value)} and ${sizeText(east)} ${eastOrWest(east.value)}`;
}

function madeText(made: readonly TurnMade[]): string {
  return listText(
    made.map(({ adjuster, turns, direction, mm, seen }) => {
      const name = /^(azimuth bolts|lower bearing|base|jacks)$/.test(adjuster)
        ? adjuster
        : `${adjuster} jack`;
      if (seen !== undefined) return `the ${name} as a star showed`;
      const how = turns > 0 ? turnsPhrase(turns) : `${fixed(mm ?? 0, 2)} mm`;
      return `the ${name} ${how} ${direction}`;
    }),
  );
}

function followedTable(told: readonly RoundReport[]): Block {
  return {
    kind: "table",
    caption: "What was asked of the axis, and what the next night found",
    head: ["Round", "Way", "Asked", "Found", "Followed by"],
    align: ["right", "left", "right", "right", "right"],
    rows: told.flatMap((round) =>
      (["altitude", "east"] as const).map((axis) => {
        const gain = round.gain[axis];
        return [
          String(round.round),
          axis === "altitude" ? "altitude" : "east",
          arcminText(round.asked[axis], 1, true),
          estimateText(round.found![axis]),
          gain === null ? "too small to measure" : `${fixed(gain.value, 2)} ± ${fixed(gain.uncertainty, 2)}`,
        ];
      }),
    ),
  };
}
