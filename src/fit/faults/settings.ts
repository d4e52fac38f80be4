/**
 * Settings of the mount file that the readings contradict: an axis that counts the other way, steps a turn that are
 * half, twice or four times the truth, a dial of hours taken for one of degrees, the two columns exchanged.
 */
import type { AxisReadings, Mount } from "../../mount/mount.js";
import { priceOf, SETTING_CHANCE } from "../beliefs.js";
import type { Bench } from "../bench.js";
import type { Note } from "../fit-result.js";
import type { Outcome } from "../outcome.js";
import { coreCost, type RefinedStart, type RoughStart, refineStart, roughStarts } from "../rough-start.js";
import type { Fault, FaultOf } from "../story.js";
import { isStrange } from "../strange.js";
import type { FaultKind, Proposal, Telling } from "./fault-kind.js";
import { stepsRatios } from "./steps-ratio.js";

type SettingFault = FaultOf<"setting"> | FaultOf<"exchanged-columns">;
const isSetting = (fault: Fault): fault is SettingFault =>
  fault.kind === "setting" || fault.kind === "exchanged-columns";

/** What the file's angle may have to be multiplied by: steps of an encoder, hours for degrees on a dial and back. */
const FACTORS = {
  counts: [1, -1, 2, -2, 0.5, -0.5, 4, -4, 0.25, -0.25],
  degrees: [1, -1, 15, -15],
  hours: [1, -1, 1 / 15, -1 / 15],
  rightAscension: [1],
} as const;
/** Pairs tried for each setting: a few to sieve them, more for those that are left. */
const SIEVE_PAIRS = 12;
const SIEVED = 10;
const WIDTH = 3;
const PAIRS = 60;
const KEPT = 4;
/** A setting explains a night where it leaves out at most this part of it. */
const MOST_LEFT_OUT = 0.25;
/** Ratios that can be told apart. */
const RATIOS = 1000;

export const setting: FaultKind<"setting"> = {
  kind: "setting",
  unsound: true,
  margin: 0,
  price: settingPrice,
  propose,
  notes: (_, telling) => settingsNotes(telling),
};

export const exchangedColumns: FaultKind<"exchanged-columns"> = {
  kind: "exchanged-columns",
  unsound: true,
  margin: 0,
  price: () => priceOf(SETTING_CHANCE),
  // Proposed with the other settings, told with them.
  propose: () => [],
  notes: (_, telling) =>
    telling.outcome.story.faults.some(({ kind }) => kind === "setting") ? [] : settingsNotes(telling),
};

/** Every way that the readings may have to be read, the file's own first. */
function trialsFor({ readings }: Mount): SettingFault[][] {
  const axis = (name: "hourAngle" | "declination", factor: number): SettingFault[] =>
    factor === 1 ? [] : [{ kind: "setting", axis: name, factor }];
  const trials: SettingFault[][] = [];
  for (const h of FACTORS[readings.hourAngle.as])
    for (const d of FACTORS[readings.declination.as])
      trials.push([...axis("hourAngle", h), ...axis("declination", d)]);
  if (readings.hourAngle.as === readings.declination.as) {
    for (const h of [1, -1])
      for (const d of [1, -1])
        trials.push([{ kind: "exchanged-columns" }, ...axis("hourAngle", h), ...axis("declination", d)]);
  }
  return trials;
}

/** A night that does not fit: every setting by rough starts, the file's own among them. */
function propose(outcome: Outcome, root: Bench): Proposal[] {
  const { story } = outcome;
  if (!isStrange(outcome) || story.usedCount + story.excludedCount < 4) return [];
  const circumstances = story.faults.filter(({ kind }) => kind === "clock" || kind === "site");
  // The file's own settings first: what disagrees by so much more than the best is left behind.
  let least = Number.POSITIVE_INFINITY;
  const rank = (list: readonly SettingFault[][], pairs: number, keep: number): RoughStart[] => {
    const best: RoughStart[] = [];
    for (const trial of list) {
      const limit = Math.min(best[keep - 1]?.disagreement ?? Number.POSITIVE_INFINITY, least + WIDTH);
      best.push(...roughStarts(root, [...circumstances, ...trial], pairs, trial.length === 0 ? 2 : 1, limit));
      best.sort((a, b) => a.disagreement - b.disagreement).splice(keep);
      least = Math.min(least, best[0]?.disagreement ?? least);
    }
    return best.filter(({ disagreement }) => disagreement < least + WIDTH);
  };
  const trials = trialsFor(root.night.mount);
  const settingsOf = ({ story: { faults } }: RoughStart): SettingFault[] => faults.filter(isSetting);
  const own = rank([[]], PAIRS, 2);
  const sieved = rank(trials.slice(1), SIEVE_PAIRS, SIEVED);
  const starts = [...own, ...rank(sieved.map(settingsOf), PAIRS, KEPT)];
  const refined = starts.map((start) => refineStart(root, start)).filter((start) => start !== null);
  const isWhole = ({ faults }: RefinedStart): boolean =>
    faults.filter(({ kind }) => kind === "excluded").length <= MOST_LEFT_OUT * root.night.count;
  if (!refined.some(isWhole)) refined.push(...stepsRatios(root, circumstances, FACTORS.counts));
  const now = coreCost(outcome.core, story) + priceOfSettings(story.faults);
  return refined.map(({ faults, cost }) => ({ faults, gain: now - cost - priceOfSettings(faults) }));
}

/** A setting with a ratio out of a thousand that it could have costs as much more. */
function settingPrice({ axis, factor }: FaultOf<"setting">, _: Outcome, root: Bench): number {
  const usual: readonly number[] = FACTORS[root.night.mount.readings[axis].as];
  return priceOf(usual.includes(factor) ? SETTING_CHANCE : SETTING_CHANCE / RATIOS);
}

const priceOfSettings = (faults: readonly Fault[]): number =>
  faults.filter(isSetting).length * priceOf(SETTING_CHANCE);

/** The key that is wrong beside the sense, and what it should say; null where only the sense is wrong. */
function rightKey(axis: AxisReadings, factor: number): { key: "as" | "perTurn"; value: string } | null {
  if (Math.abs(factor) === 1) return null;
  if (axis.as !== "counts") return { key: "as", value: axis.as === "degrees" ? "hours" : "degrees" };
  return { key: "perTurn", value: stepsText(axis, factor) };
}

/** Steps a turn: exactly where they are a usual multiple, else to four figures. */
function stepsText(axis: AxisReadings, factor: number): string {
  const usual: readonly number[] = FACTORS.counts;
  const steps = axis.perTurn / Math.abs(factor);
  return usual.includes(factor)
    ? String(Number(steps.toPrecision(12)))
    : `about ${Number(steps.toPrecision(4))}`;
}

function axisRemedy(axis: AxisReadings, path: string, factor: number): string {
  const parts: string[] = [];
  if (factor < 0) parts.push(`set ${path}.sense to ${-axis.sense}`);
  const right = rightKey(axis, factor);
  if (right !== null) parts.push(`set ${path}.${right.key} to ${right.value}`);
  if (right?.key === "as") parts.push(`write ${path}.smallest in ${right.value}`);
  if (right?.value.startsWith("about"))
    parts.push("count them over a full turn of the axis (polewright procedure encoder-turn)");
  return parts.join(" and ");
}

function axisFinding(name: string, axis: AxisReadings, factor: number): string {
  const parts: string[] = [];
  if (factor < 0) parts.push("counts the other way than the mount file says");
  const right = rightKey(axis, factor);
  if (right?.key === "perTurn") parts.push(`has ${right.value} steps a turn, not ${axis.perTurn}`);
  if (right?.key === "as") parts.push(`is read in ${right.value}, not in ${axis.as}`);
  return `the ${name} ${axis.as === "counts" ? "encoder" : "dial"} ${parts.join(" and ")}`;
}

/** What settings say: finding and remedy. */
function settingsText(faults: readonly Fault[], mount: Mount): { finding: string; remedy: string } {
  const findings: string[] = [];
  const remedies: string[] = [];
  for (const fault of faults) {
    if (fault.kind === "exchanged-columns") {
      findings.push("the two columns of readings are exchanged");
      remedies.push("exchange the columns hourAngle and declination of the night file");
    }
    if (fault.kind !== "setting") continue;
    const [name, path] =
      fault.axis === "hourAngle"
        ? (["hour-angle", "readings.hourAngle"] as const)
        : (["declination", "readings.declination"] as const);
    const axis = mount.readings[fault.axis];
    findings.push(axisFinding(name, axis, fault.factor));
    remedies.push(axisRemedy(axis, path, fault.factor));
  }
  return { finding: findings.join(", and "), remedy: remedies.join("; ") };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function settingsNotes({ outcome, root, rivals }: Telling): Note[] {
  const { finding, remedy } = settingsText(outcome.story.faults, root.night.mount);
  const also = settingsText(rivals, root.night.mount).remedy;
  return [
    {
      code: outcome.story.exchanged ? "columns-exchanged" : "sense-reversed",
      row: null,
      message:
        `The readings fit only if ${finding}. With that corrected ${outcome.story.usedCount} sightings fit. ` +
        "The terms below are those of the corrected readings.",
      remedy:
        `${capital(remedy)}, then fit again. Turn no jack before that.` +
        (also === "" ? "" : ` These sightings could equally be corrected so: ${also}.`),
    },
  ];
}
