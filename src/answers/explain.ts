/** What an error of the mount is, how it shows, and how to correct it. */
import { InputError } from "../errors.js";
import type { MountFit } from "../fit/fit-result.js";
import { type BuiltInTermName, type TermName, termNames } from "../mount/terms.js";
import type { Night } from "../night/night.js";
import { nextStar } from "../plan/next.js";
import { plannableTerms } from "../pointing/known-mount.js";
import { explain as plainExplain } from "../report/explain.js";
import type { Report } from "../report/report.js";
import { question, WrongUsage } from "./answer.js";
import { nightAndFit, nightOptions, notATerm } from "./night.js";
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
  const report = plainExplain(name, fit, fit === undefined ? null : betterStar(name, fit, []));
  return printable({ ...report }, () => report);
}

/** Which star would measure a term better after the last sighting, in a sentence; null where none can be named. */
function betterStar(name: TermName, fit: MountFit, sightings: Night["sightings"]): string | null {
  const last = fit.residuals.at(-1);
  const [term] = fit.terms.filter((one) => one.name === name);
  if (
    last === undefined ||
    term === undefined ||
    !fit.sound ||
    !(plannableTerms as readonly string[]).includes(name)
  )
    return null;
  try {
    const night = { mount: fit.mount, sightings };
    return nextStar(night, fit, Date.parse(last.time), { toLearn: name })?.reason ?? null;
  } catch (problem) {
    // By then the Sun is up.
    if (problem instanceof InputError) return null;
    throw problem;
  }
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
    const found = night === undefined ? undefined : nightAndFit(night, options, read);
    const name = term as BuiltInTermName;
    const better = found === undefined ? null : betterStar(name, found.fit, found.night.sightings);
    return { term: name, fit: found?.fit, report: plainExplain(name, found?.fit, better) };
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
