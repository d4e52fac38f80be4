/** What an error of the mount is, how it shows, and how to correct it. */
import type { MountFit } from "../fit/fit-result.js";
import { type BuiltInTermName, type TermName, termNames } from "../mount/terms.js";
import { explain as plainExplain } from "../report/explain.js";
import type { Report } from "../report/report.js";
import { question, WrongUsage } from "./answer.js";
import { fitOf, nightOptions, notATerm } from "./night.js";
import { printable } from "./printable.js";
import { onlyWith, place, text } from "./takes.js";

/**
 * What an error of the mount is, how it shows, and how to mend it. As a cell's last expression it prints as its report.
 *
 * @param name - a term's key
 * @param fit - with tonight's value, and the shim that would mend it
 * @throws InputError `unknown-term`
 * @example
 * ```ts
 * explain("cone", fit)
 * ```
 */
export function explain(name: TermName, fit?: MountFit): Report {
  const report = plainExplain(name, fit);
  return printable({ ...report }, () => report);
}

/** Where no night says where the telescope stands, the pattern is drawn for here, degrees. */
const EXAMPLE_LATITUDE_DEG = 45;

/** `polewright explain TERM`. */
export const explanation = question({
  name: "explain",
  asks: "what an error is, how it shows, how to correct it",
  example: "polewright explain cone --night my-telescope/night.csv",
  takes: {
    term: place("term", `the error: ${termNames.join(", ")}`),
    night: text("file", "with this night's value"),
    ...onlyWith("night", nightOptions),
  },
  ask({ term, night, ...options }, read) {
    if (!(termNames as readonly string[]).includes(term)) {
      throw new WrongUsage(`error: ${notATerm(term, termNames)}. Terms are ${termNames.join(", ")}.`);
    }
    const fit = night === undefined ? undefined : fitOf(night, options, read);
    return { term: term as BuiltInTermName, fit, report: plainExplain(term as TermName, fit) };
  },
  say: ({ report }) => [report],
  draw: async ({ term, fit }) => {
    const { mountPart, residualSky, termPattern } = await import("../plots/plots.js");
    const site = fit?.mount.site ?? { latitude: EXAMPLE_LATITUDE_DEG };
    const part = mountPart(term, site);
    return [
      ...(part === null ? [] : [part]),
      termPattern(term, site),
      ...(fit === undefined ? [] : [residualSky(fit)]),
    ];
  },
  json: ({ report }) => ({ ...report }),
  notes: ({ fit }) => fit?.notes ?? [],
});
