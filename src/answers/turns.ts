/** Which jacks and bolts to turn, which way, how far. */
import { means } from "../base/adjusters/adjusters.js";
import { jackTurns as plainJackTurns } from "../base/jack-turns.js";
import type { TurnAdvice } from "../base/turn-advice.js";
import type { TurnOptions } from "../base/turn-question.js";
import type { UnderStarOptions } from "../base/under-star.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitReport } from "../report/fit-report.js";
import { turnsReport } from "../report/turns-report.js";
import { question } from "./answer.js";
import { fitJson } from "./fit.js";
import { given } from "./given.js";
import { fitOf, nightOptions, nightPlace } from "./night.js";
import { printable } from "./printable.js";
import { choice, flag, onlyWithout } from "./takes.js";

/**
 * Turns the axis error of a fit into turns of jacks and bolts. As a cell's last expression it prints as its report.
 *
 * @param fit - from {@link fitMount}
 * @param options - which adjusters to use and which pole to aim at; weighed by itself otherwise
 * @throws PolewrightError `base-missing`, `adjuster-missing`, `option-unknown`
 */
export function jackTurns(fit: MountFit, options: TurnOptions & UnderStarOptions = {}): TurnAdvice {
  const advice = plainJackTurns(fit, options);
  return printable({ ...advice }, () => turnsReport(advice, fit));
}

/** What may be turned, and which pole is aimed at. */
export const turnChoices = {
  azimuthBy: choice("means", "what moves the axis east or west", ["auto", ...means.east]),
  altitudeBy: choice("means", "what moves the axis up or down", ["auto", ...means.altitude]),
  aim: choice("pole", "the pole to aim at (true when not given)", ["true", "refracted"]),
};

/** `polewright turns NIGHT.csv`. */
export const turns = question({
  name: "turns",
  asks: "which jacks and bolts to turn, which way, how far",
  example: "polewright turns my-telescope/night.csv --html turns.html",
  takes: {
    night: nightPlace,
    ...nightOptions,
    ...onlyWithout("json", { brief: flag("the verdict and the amounts only") }),
    ...turnChoices,
  },
  ask({ night, azimuthBy, altitudeBy, aim, ...options }, read) {
    const fit = fitOf(night, options, read);
    return { fit, advice: plainJackTurns(fit, given({ azimuthBy, altitudeBy, aim })) };
  },
  say: ({ fit, advice }, { brief }) =>
    brief ? [turnsReport(advice, fit, { brief })] : [turnsReport(advice, fit), fitReport(fit)],
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
});

/** What `turns --json` answers, as data/schema/turns.schema.json describes it. */
export function turnsJson(fit: MountFit, advice: TurnAdvice): object {
  const { verdict, missing } = advice;
  return { ...fitJson(fit), verdict, missing, turns: { ...advice } };
}
