/** Which jacks and bolts to turn, which way, how far. */

import type { TurnMade } from "../base/adjusters/adjuster.js";
import { means } from "../base/adjusters/adjusters.js";
import { jackTurns as plainJackTurns } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import type { TurnOptions } from "../base/turn-question.js";
import {
  parseTurned,
  type TurnedRow,
  turnedFileText,
  turnedRows,
  turnsOfRound,
} from "../base/turned-file.js";
import type { UnderStarOptions } from "../base/under-star.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitReport } from "../report/fit-report.js";
import { type Block, block, setOut } from "../report/report.js";
import { turnsReport } from "../report/turns-report.js";
import { count } from "../words/lists.js";
import { question, type Written } from "./answer.js";
import { fitJson } from "./fit.js";
import { given } from "./given.js";
import { type Moment, momentMs } from "./moment.js";
import { fitOf, nightOptions, nightPlace } from "./night.js";
import { printable } from "./printable.js";
import { choice, flag, onlyWithout, text, time } from "./takes.js";

/**
 * Turns the axis error of a fit into turns of jacks and bolts. As a cell's last expression it prints as its report.
 *
 * @param fit - from {@link fitMount}
 * @param options - which adjusters to use and which pole to aim at; weighed by itself otherwise
 * @throws PolewrightError `base-missing`, `adjuster-missing`, `option-unknown`
 * @example
 * ```ts
 * jackTurns(fitMount(openNight("data/first-light"))).verdict // "turn"
 * ```
 */
export function jackTurns(fit: MountFit, options: TurnOptions & UnderStarOptions = {}): TurnAdvice {
  const advice = plainJackTurns(fit, options);
  const result = printable({ ...advice }, () => turnsReport(advice, fit));
  answered.set(result, fit);
  return result;
}

/** The fits that advices in use answer. */
export const answered = new WeakMap<TurnAdvice, MountFit>();

/** What may be turned, and which pole is aimed at. */
export const turnChoices = {
  azimuthBy: choice("means", "what moves the axis east or west", ["auto", ...means.east]),
  altitudeBy: choice("means", "what moves the axis up or down", ["auto", ...means.altitude]),
  aim: choice("pole", "the pole to aim at (true when not given)", ["true", "refracted"]),
};

/** What goes with an advice in full. */
export const turnExtras = {
  ...onlyWithout("json", { why: flag("the reasons, and the cautions in full") }),
  at: time("from when on a star is looked at (ten minutes after the last sighting, or now)"),
};

/** `polewright turns NIGHT.csv`. */
export const turns = question({
  name: "turns",
  asks: "which jacks and bolts to turn, which way, how far",
  example: "polewright turns my-telescope/night.csv --html turns.html",
  takes: {
    night: nightPlace,
    ...nightOptions,
    ...onlyWithout("json", {
      brief: flag("the verdict, what limits it, the cautions and the amounts only"),
    }),
    ...turnChoices,
    ...turnExtras,
    turned: text("file", "the file of turns: what it has counts as travel used; a new one is filled in"),
    sheet: text("file", "a page to print and take to the base (.html)"),
  },
  ask({ night, azimuthBy, altitudeBy, aim, at, turned, sheet, ...options }, read) {
    const fit = fitOf(night, options, read);
    const { mount } = fit;
    // What the file of turns beside the night has counts too.
    const path = turned ?? read.beside(night, TURNED_FILE);
    const file = read.textIfThere(path, "file of turns");
    const rows = file === null || mount.base === null ? [] : parseTurned(file, mount.base, path);
    const choices = given({ azimuthBy, altitudeBy, aim, starFromMs: starTime(fit, at) });
    const { advice, used } = adviceAfter(fit, rows, path, choices);
    return { fit, advice, used, writes: writesOf(fit, advice, turned, file !== null, sheet) };
  },
  say: ({ fit, advice, writes }, { brief, why }) => {
    const folded = turnsReport(advice, fit, { brief });
    const report = why ? setOut(folded) : folded;
    const written = writes.map(
      ({ path, kind }): Block =>
        block.sentence(
          kind === "page"
            ? `The sheet to print: ${path}`
            : `Filled in with this advice, to be corrected to what is really turned: ${path}`,
        ),
    );
    const whole = { ...report, blocks: [...report.blocks, ...written] };
    return brief ? [whole] : [whole, fitReport(fit)];
  },
  draw: async ({ fit, advice }) => {
    const { axisPointing, baseFromAbove, residualAngles, residualSky } = await import("../plots/plots.js");
    return [
      baseFromAbove(fit.mount, advice),
      axisPointing(fit, advice),
      residualSky(fit),
      residualAngles(fit),
    ];
  },
  json: ({ fit, advice }) => turnsJson(fit, advice),
  sound: ({ fit }) => fit.sound,
  writes: ({ writes }) => writes,
});

/**
 * The advice where turns were made before. The last round of the file may be this very night's advice, written there to be
 * corrected: that is travel to come, not travel used.
 */
function adviceAfter(
  fit: MountFit,
  rows: readonly TurnedRow[],
  path: string,
  choices: TurnOptions & UnderStarOptions,
): { advice: TurnAdvice; used: TurnMade[] } {
  const rounds = [...new Set(rows.map(({ round }) => round))].sort((a, b) => a - b);
  const after = (some: readonly number[]) => {
    const used = some.flatMap((round) => turnsOfRound(rows, round, fit.mount));
    return { used, advice: plainJackTurns(fit, { ...choices, used }) };
  };
  const last = rounds.at(-1);
  if (last === undefined) return after([]);
  const before = after(rounds.slice(0, -1));
  const asAdvised = turnedFileText(turnedRows(before.advice, last));
  const isOwn = turnedFileText(rows.filter(({ round }) => round === last)) === asAdvised;
  const { advice, used } = isOwn ? before : after(rounds);
  const counted = isOwn ? rounds.slice(0, -1) : rounds;
  const notes = [
    ...advice.notes,
    ...(isOwn ? [`Round ${last} in ${path} is this advice: it is not counted as travel used.`] : []),
    ...(counted.length > 0
      ? [`Turned before, by ${path}: ${count(counted.length, "round")}. That travel is counted as used.`]
      : []),
  ];
  return { used, advice: { ...advice, notes } };
}

/** What was turned before this night, by the file of turns. */
export function turnedBefore(fit: MountFit, file: string, path: string): readonly TurnMade[] {
  const { base } = fit.mount;
  return base === null ? [] : adviceAfter(fit, parseTurned(file, base, path), path, {}).used;
}

/** The file of turns in a night's folder. */
export const TURNED_FILE = "turned.csv";
/** So long after the last sighting the same night is still meant. */
const SAME_NIGHT_MS = 6 * 3_600_000;

/** From when on a star is looked at: the time given; now, soon after the last sighting; else as the advice has it. */
export function starTime(fit: MountFit, at: Moment | undefined): number | undefined {
  if (at !== undefined) return momentMs(at, fit.mount.site);
  const now = momentMs("now");
  const since = now - (fit.meanTimeMs ?? 0);
  return since > 0 && since < SAME_NIGHT_MS ? now : undefined;
}

function writesOf(
  fit: MountFit,
  advice: TurnAdvice,
  turned: string | undefined,
  isThere: boolean,
  sheet: string | undefined,
): Written[] {
  const writes: Written[] = [];
  if (turned !== undefined && !isThere) {
    const text = turnedFileText(turnedRows(advice, 1));
    writes.push({ path: turned, text, kind: "file of turns", option: "--turned" });
  }
  if (sheet !== undefined) {
    const text = async () => (await import("../page/jack-sheet.js")).jackSheet(advice, fit.mount).html;
    writes.push({ path: sheet, text, kind: "page", option: "--sheet" });
  }
  return writes;
}

/** What `turns --json` answers, as data/schema/turns.schema.json describes it. */
export function turnsJson(fit: MountFit, advice: TurnAdvice): object {
  const { verdict, missing } = advice;
  return { ...fitJson(fit), verdict, missing, turns: { ...advice } };
}
