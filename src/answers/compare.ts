/** What has changed between two nights or kept models, beyond its uncertainties. */
import type { MountFit } from "../fit/fit-result.js";
import { type ComparedModel, type Comparison, compareModels as plainCompareModels } from "../keep/compare.js";
import { keptStanding, parseKeptModel } from "../keep/keep.js";
import { compareReport } from "../report/compare-report.js";
import { question, type Reading, WrongUsage } from "./answer.js";
import { fitOf, nightOptions } from "./night.js";
import { printable } from "./printable.js";
import { place, type ValuesOf } from "./takes.js";

/**
 * Compares two fits or kept models of the same mount. As a cell's last expression it prints as its report.
 *
 * @param older - the earlier one
 * @param newer - the later one
 * @throws InputError `model-of-other-mount` with every difference that leaves nothing to compare: another site, other
 *   encoders, another formula of a custom term that both hold
 * @example
 * ```ts
 * compareModels(keptStanding(parseKeptModel(keptText), mount), fit).summary
 * ```
 */
export function compareModels(older: ComparedModel, newer: ComparedModel): Comparison {
  const comparison = plainCompareModels(older, newer);
  return printable({ ...comparison }, () => compareReport(comparison, { older: "Then", newer: "now" }));
}

const isKept = (path: string): boolean => path.toLowerCase().endsWith(".json");

const isFit = (model: ComparedModel): model is ComparedModel & MountFit =>
  "residuals" in model && "skyRms" in model;

/** A night (`.csv`) is fitted; a kept model (`.json`) is read, on the mount of the night that it is compared with, if any. */
function modelOf(
  path: string,
  other: string,
  options: ValuesOf<typeof nightOptions>,
  read: Reading,
): ComparedModel {
  if (!isKept(path)) return fitOf(path, options, read);
  const mount = read.mount(options.mount, isKept(other) ? path : other);
  return keptStanding(parseKeptModel(read.text(path, "kept model"), path), mount);
}

/** `polewright compare OLD NEW`. */
export const compare = question({
  name: "compare",
  asks: "what has changed between two nights or kept models, beyond its uncertainties",
  example: "polewright compare kept-in-march.json my-telescope/night.csv",
  takes: {
    older: place("old", "a night (.csv) or a kept model (.json)"),
    newer: place("new", "the later one"),
    ...nightOptions,
  },
  ask({ older, newer, ...options }, read) {
    if (
      isKept(older) &&
      isKept(newer) &&
      (options.terms !== undefined || options.asEntered || options.trustClock)
    ) {
      throw new WrongUsage(
        "error: kept models are compared as they were kept: --terms, --as-entered and --trust-clock need a night",
      );
    }
    const models = [modelOf(older, newer, options, read), modelOf(newer, older, options, read)] as const;
    return { models, comparison: plainCompareModels(...models) };
  },
  say: ({ comparison }, { older, newer }) => [compareReport(comparison, { older, newer })],
  draw: async ({ models: [older, newer] }) => {
    if (!isFit(older) || !isFit(newer)) return [];
    const { beforeAfter } = await import("../plots/plots.js");
    return [beforeAfter(older, newer)];
  },
  json: ({ comparison }) => ({ ...comparison }),
  notes: ({ models }) => models.flatMap((model) => ("notes" in model ? (model as MountFit).notes : [])),
});
