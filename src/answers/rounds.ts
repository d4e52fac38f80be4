/** What rounds of turning did, each adjuster's true gain, and the next turns. */
import { goodEnoughWithin } from "../base/another-round.js";
import { rounds as plainRounds, type RoundsOptions, type RoundsResult } from "../base/rounds.js";
import { parseTurned, type TurnedRow } from "../base/turned-file.js";
import { PolewrightError } from "../errors.js";
import type { MountFit } from "../fit/fit-result.js";
import { setOut } from "../report/report.js";
import { roundsReport } from "../report/rounds-report.js";
import { question } from "./answer.js";
import { given } from "./given.js";
import { fitOf, nightOptions } from "./night.js";
import { printable } from "./printable.js";
import { needed, places, text } from "./takes.js";
import { starTime, turnChoices, turnExtras } from "./turns.js";

/**
 * Rounds as notebooks ask for them, with the turns as rows.
 *
 * @example
 * ```ts
 * roundsOf([fit, fitMount(secondNight)], turnedRows(jackTurns(fit), 1)).rounds.length // 2
 * ```
 */
export function roundsOf(
  fits: readonly MountFit[],
  turned: readonly TurnedRow[],
  options: RoundsOptions = {},
): RoundsResult {
  const result = plainRounds(fits, turned, options);
  return printable({ ...result }, () => roundsReport(result, fits[0]!.mount));
}

/** `polewright rounds NIGHT1.csv NIGHT2.csv … --turned FILE`. */
export const rounds = question({
  name: "rounds",
  asks: "what rounds of turning did, each adjuster's true gain, and the next turns",
  example: "polewright rounds first/night.csv second/night.csv --turned turned.csv",
  takes: {
    nights: places("nights", "the nights in order", true),
    ...nightOptions,
    turned: needed(text("file", "the turns as really made: round,adjuster,turns,direction")),
    ...turnChoices,
    ...turnExtras,
  },
  ask({ nights, turned, azimuthBy, altitudeBy, aim, at, ...options }, read) {
    const fits = nights.map((night) => fitOf(night, options, read));
    const { mount } = fits[0]!;
    if (mount.base === null) {
      throw new PolewrightError("base-missing", 'The mount file has no "base", so there is nothing to turn.');
    }
    const rows = parseTurned(read.text(turned, "file of turns"), mount.base, turned);
    const starFromMs = starTime(fits.at(-1)!, at);
    return {
      fits,
      mount,
      result: plainRounds(fits, rows, given({ azimuthBy, altitudeBy, aim, starFromMs })),
    };
  },
  say: ({ mount, result }, { why }) => {
    const report = roundsReport(result, mount);
    return [why ? setOut(report) : report];
  },
  draw: async ({ fits, result }) => {
    const { axisPointing, axisWalk, roundsConverging } = await import("../plots/plots.js");
    const last = fits.at(-1)!;
    const enough = goodEnoughWithin(last.mount, last.pole);
    return [roundsConverging(fits, undefined, enough), axisWalk(fits), axisPointing(last, result.next)];
  },
  json: ({ result }) => ({ ...result }),
  notes: ({ fits }) => fits.at(-1)!.notes,
  sound: ({ fits }) => fits.at(-1)!.sound,
});
