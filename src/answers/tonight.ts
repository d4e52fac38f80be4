/** The start of a night on a kept model: does the mount still stand as kept, and what may be trusted now. */
import type { TermEstimate } from "../fit/fit-result.js";
import { keptStanding, parseKeptModel } from "../keep/keep.js";
import { standingTonight, type TonightStanding } from "../keep/tonight.js";
import { tonightReport } from "../report/tonight-report.js";
import { question } from "./answer.js";
import { mountOption, nightPlace } from "./night.js";
import { needed, text } from "./takes.js";

/** `polewright tonight NIGHT.csv --model KEPT.json`. */
export const tonight = question({
  name: "tonight",
  asks: "whether the mount still stands as a kept model says, by tonight's first stars",
  example: "polewright tonight my-telescope/night.csv --model kept.json",
  takes: {
    night: nightPlace,
    mount: mountOption,
    model: needed(text("file", "the kept model")),
  },
  ask({ night: nightPath, mount: mountPath, model }, read) {
    const { mount, night } = read.night(nightPath, mountPath);
    const kept = keptStanding(parseKeptModel(read.text(model, "kept model"), model), mount);
    return { kept, standing: standingTonight(kept, night, nightPath) };
  },
  say: ({ kept, standing }) => [tonightReport(standing, kept.zerosFrom ?? null)],
  json: ({ standing }) => tonightJson(standing),
  sound: ({ standing }) => standing.standing !== "contradicts-model",
});

/** What `tonight --json` answers, as data/schema/tonight.schema.json describes it. */
export function tonightJson(tonight: TonightStanding) {
  const { standing, chiSquare, agreements, evidence, notes } = tonight;
  const zeros = zerosOf(tonight);
  return { standing, missing: evidence.missing, chiSquare, zeros, agreements, notes };
}

/** Tonight's zeros, arcminutes. */
function zerosOf({ terms }: TonightStanding): Record<string, Pick<TermEstimate, "value" | "uncertainty">> {
  return Object.fromEntries(
    (["hourAngle", "declination"] as const).map((axis) => {
      // Of several sets the last is the one in force.
      const { value, uncertainty } = terms.filter(({ name }) => name === `${axis}Zero`).at(-1)!;
      return [axis, { value, uncertainty }];
    }),
  );
}
