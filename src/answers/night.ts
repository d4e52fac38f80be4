/** What every question on a night takes, and the fit that it stands on. */
import { shown } from "../errors.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Mount } from "../mount/mount.js";
import { type TermName, termNames } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { type Reading, WrongUsage } from "./answer.js";
import { flag, place, text, type ValuesOf } from "./takes.js";

/** The night's file, or its folder. */
export const nightPlace = place(
  "night",
  "the night's sightings (night.csv), or its folder; - is standard input",
);

/** The mount file of a question that has a night. */
export const mountOption = text("file", "the mount file (default: mount.json beside the night file)");

/** How a night is fitted. */
export const fitOptions = {
  terms: text("names", "fit just these terms, comma-separated, without prior knowledge"),
  asEntered: flag("doubt nothing: every sighting counts as entered"),
  trustClock: flag("the hour-angle zero truly stands where it is"),
};

/** What every question on a night takes besides the night. */
export const nightOptions = { mount: mountOption, ...fitOptions };

/** Fits the night of a file. */
export function fitOf(path: string, options: ValuesOf<typeof nightOptions>, read: Reading): MountFit {
  return nightAndFit(path, options, read).fit;
}

/** The night of a file and its fit. */
export function nightAndFit(
  path: string,
  options: ValuesOf<typeof nightOptions>,
  read: Reading,
): { readonly night: Night; readonly fit: MountFit } {
  const { mount, night } = read.night(path, options.mount);
  const terms = options.terms === undefined ? undefined : termsNamed(options.terms, mount);
  const fit = fitMount(night, {
    ...(terms === undefined ? {} : { terms }),
    catches: !options.asEntered,
    trustClock: options.trustClock,
  });
  return { night, fit };
}

/** The terms named in `--terms`. */
function termsNamed(list: string, mount: Mount): TermName[] {
  const known: readonly string[] = [...termNames, ...mount.customTerms.map((term) => term.name)];
  const names = list
    .split(",")
    .map((name) => name.trim())
    .filter((name) => name !== "");
  const unknown = names.filter((name) => !known.includes(name));
  if (names.length > 0 && unknown.length === 0) return names as TermName[];
  const problems = unknown.map((name) => notATerm(name, known));
  throw new WrongUsage(
    `error: option --terms: ${problems.length === 0 ? "no term is named" : problems.join(", ")}. Terms are ${known.join(", ")}.`,
  );
}

/** That a name is no term, and which was probably meant. */
export function notATerm(name: string, known: readonly string[]): string {
  const near = didYouMean(name, known);
  return `${shown(name)} is no term${near === null ? "" : ` (did you mean ${near}?)`}`;
}
