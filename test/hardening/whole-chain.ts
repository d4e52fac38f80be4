/** A pair of files taken through everything that can be made of them, and what must hold of the result. */

import { fitJson } from "../../src/answers/fit.js";
import { turnsJson } from "../../src/answers/turns.js";
import { jackTurns } from "../../src/base/jack-turns.js";
import { type Fault, InputError, PolewrightError } from "../../src/errors.js";
import { type FitOptions, fitMount } from "../../src/fit/mount-fit.js";
import type { Mount } from "../../src/mount/mount.js";
import { parseMountText } from "../../src/mount/mount-file.js";
import { termNames } from "../../src/mount/terms.js";
import type { Night } from "../../src/night/night.js";
import { readNight } from "../../src/night/night-file.js";
import * as plots from "../../src/plots/plots.js";
import { explain } from "../../src/report/explain.js";
import { fitReport } from "../../src/report/fit-report.js";
import { reportHtml } from "../../src/report/html.js";
import type { Report } from "../../src/report/report.js";
import { reportText } from "../../src/report/text.js";
import { turnsReport } from "../../src/report/turns-report.js";

/** Faults of a file as a whole, which have no line and no path. */
const ofTheWholeFile = new Set([
  "empty-file",
  "file-too-large",
  "no-header",
  "not-csv",
  "not-text",
  "wrong-separator",
  "more-faults",
  "wrong-type",
]);

/** What is wrong with how faults are told, or null. */
function faultTrouble(faults: readonly Fault[]): string | null {
  if (faults.length === 0) return "an InputError without a fault";
  for (const fault of faults) {
    const isPlaced =
      fault.line !== undefined || (fault.path !== undefined && fault.path !== "") || fault.row !== undefined;
    if (!isPlaced && !ofTheWholeFile.has(fault.code)) return `no line, row or path: ${JSON.stringify(fault)}`;
    if (fault.message === "" || fault.allowed === "") return `no sentence: ${JSON.stringify(fault)}`;
    const told = `${fault.message} ${fault.allowed}`;
    if (/\bundefined\b|\[object/.test(told)) return `not words: ${JSON.stringify(fault)}`;
  }
  return null;
}

/** The path of a number in a value that JSON cannot hold, or null. */
function notFinite(value: unknown, path = ""): string | null {
  if (typeof value === "number") return Number.isFinite(value) ? null : `${path} is ${value}`;
  if (ArrayBuffer.isView(value)) return notFinite([...(value as Float64Array)], path);
  if (typeof value !== "object" || value === null) return null;
  for (const [key, inner] of Object.entries(value)) {
    const found = notFinite(inner, `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

const BROKEN = /\bNaN\b|\bundefined\b|\[object|∞|\bInfinity\b/;

function textTrouble(what: string, text: string, said: string): string | null {
  // A builder may name his mount "undefined".
  if (BROKEN.test(said)) return null;
  const found = BROKEN.exec(text);
  if (found === null) return null;
  return `${what} says ${JSON.stringify(text.slice(Math.max(0, found.index - 60), found.index + 60))}`;
}

/** What came of a pair of files. */
export interface Outcome {
  /** Which stage it came to. */
  readonly stage: "mount refused" | "night refused" | "fit refused" | "done";
  /** What must not be, or null. */
  readonly trouble: string | null;
}

/** Takes texts through the whole chain. Anything thrown but faults is let through, as the crash that it is. */
export function takeTexts(mountText: string, nightText: string, options: FitOptions = {}): Outcome {
  let mount: Mount;
  try {
    mount = parseMountText(mountText, "mount.json");
  } catch (problem) {
    return refused("mount refused", problem);
  }
  let night: Night;
  try {
    const reading = readNight(nightText, mount, "night.csv");
    const trouble = reading.warnings.length === 0 ? null : faultTrouble(reading.warnings);
    if (trouble !== null) return { stage: "night refused", trouble: `warning: ${trouble}` };
    night = reading.night;
  } catch (problem) {
    return refused("night refused", problem);
  }
  return takeNight(night, options);
}

function refused(stage: Outcome["stage"], problem: unknown): Outcome {
  if (!(problem instanceof InputError)) throw problem;
  return { stage, trouble: faultTrouble(problem.faults) };
}

/** Takes a night through the fit, the turns, the reports and the figures. */
function takeNight(night: Night, options: FitOptions = {}): Outcome {
  const { mount } = night;
  let fit: ReturnType<typeof fitMount>;
  try {
    fit = fitMount(night, options);
  } catch (problem) {
    return refused("fit refused", problem);
  }
  const said = JSON.stringify([
    mount,
    night.sightings.map((one) => [one.star, one.zeroSet, one.tubeSet, one.note]),
  ]);
  const troubles: (string | null)[] = [
    notFinite(fit, "fit"),
    notFinite(fitJson(fit), "json"),
    ...reportTroubles(fitReport(fit), said),
  ];
  const figures = [
    plots.residualSky(fit),
    plots.residualAngles(fit),
    plots.axisPointing(fit),
    plots.termCorrelation(fit),
  ];
  const term = termNames.find((name) => fit.terms.some((one) => one.name === name));
  if (term !== undefined) troubles.push(...reportTroubles(explain(term, fit), said));
  if (mount.base !== null) {
    try {
      const advice = jackTurns(fit);
      if (!fit.sound && advice.recommended) troubles.push("turns of an unsound fit are recommended");
      troubles.push(
        notFinite(advice, "turns"),
        notFinite(turnsJson(fit, advice), "turns json"),
        ...reportTroubles(turnsReport(advice, fit), said),
      );
      figures.push(plots.baseFromAbove(mount, advice), plots.axisPointing(fit, advice));
    } catch (problem) {
      if (!(problem instanceof PolewrightError)) throw problem;
      if (problem.message === "") troubles.push("a refusal of turns without a sentence");
    }
  }
  for (const figure of figures) {
    troubles.push(notFinite(figure, "figure"));
    const svg = plots.figureSvg(figure);
    troubles.push(textTrouble("a still picture", svg, said), textTrouble("a figure", figure.summary, said));
  }
  return { stage: "done", trouble: troubles.find((trouble) => trouble !== null) ?? null };
}

function reportTroubles(report: Report, said: string): (string | null)[] {
  const text = reportText(report, { width: 80 });
  return [
    textTrouble("the report", text, said),
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
    /[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/.test(text) ? "a control character in the report" : null,
    /<(?!\/?(section|style|h[1-6]|p|strong|ol|ul|li|div|table|caption|span|thead|tbody|tr|th|td|details|summary)\b)/.test(
      reportHtml(report),
    )
      ? "a strange tag in the report"
      : null,
  ];
}
