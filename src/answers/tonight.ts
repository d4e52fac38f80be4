/** The start of a night on a kept model: does the mount still stand as kept, and what may be trusted now. */
import type { TermEstimate } from "../fit/fit-result.js";
import { type KeptModel, keptStanding, parseKeptModel } from "../keep/keep.js";
import { standingTonight as plainStanding, type TonightStanding } from "../keep/tonight.js";
import type { Night } from "../night/night.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { tonightReport } from "../report/tonight-report.js";
import { question } from "./answer.js";
import { mountOption, nightPlace } from "./night.js";
import { printable } from "./printable.js";
import { needed, text } from "./takes.js";

/**
 * How the mount stands tonight by a kept model and tonight's first stars. As a cell's last expression it prints as its
 * report; `findTargets`, `exposure` and `desk` take it as they take a fit.
 *
 * @param kept - how it stood: a kept model, or a fit of another night
 * @param night - tonight's sightings, at least one in use
 * @throws {@link InputError} `no-sightings`; `night-not-sound` for six sightings and more that must be corrected first
 * @example
 * ```ts
 * standingTonight(kept, secondNight).standing // "as-kept"
 * ```
 */
export function standingTonight(kept: KeptModel | MountStanding, night: Night): TonightStanding {
  const known: MountStanding = isModel(kept) ? keptStanding(kept, night.mount) : kept;
  const standing = plainStanding(known, night);
  return printable({ ...standing }, () => tonightReport(standing, known.zerosFrom ?? null));
}

function isModel(kept: KeptModel | MountStanding): kept is KeptModel {
  return typeof kept.mount === "string";
}

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
    return { kept, standing: plainStanding(kept, night, nightPath) };
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
