/** What exposures show of the mount's errors, in words. */
import { type Fault, faultText } from "../errors.js";
import type { Exposure, ExposureEnd } from "../exposure/exposure.js";
import { exposureAssumptions, type GoodEnough, secondsText, unitText } from "../exposure/good-enough.js";
import type { ExposureTable } from "../exposure/sky.js";
import type { TrueOrRefracted } from "../exposure/true-or-refracted.js";
import type { Note } from "../fit/fit-result.js";
import { fixed, signed } from "../words/numbers.js";
import type { Block, Report } from "./report.js";

/** What an evening's exposures are reported from; as JSON data/schema/exposure.schema.json describes it. */
export interface ExposureAnswer {
  readonly mountName: string;
  /** The verdict in a sentence; null where none was asked. */
  readonly because: string | null;
  readonly exposures: readonly Exposure[];
  /** Targets asked for that cannot be exposed on, and why. */
  readonly leftOut: readonly Fault[];
  readonly table: ExposureTable | null;
  readonly goodEnough: GoodEnough | null;
  readonly poles: TrueOrRefracted | null;
}

/**
 * Exposures on targets, the longest exposures over the sky, whether the mount is good enough, and which pole to aim at.
 *
 * @param notes - of the fit, where it allows no figure
 * @example
 * ```ts
 * reportText(exposureReport({ mountName: mount.name, because: null, exposures, leftOut: [], table: null, goodEnough: null, poles: null }));
 * ```
 */
export function exposureReport(
  answer: ExposureAnswer,
  notes: readonly Pick<Note, "message" | "remedy">[] = [],
): Report {
  const caution = (text: string): Block => ({ kind: "sentence", tone: "caution", text });
  const blocks = answer.leftOut.map((fault) => caution(faultText(fault)));
  if (answer.goodEnough === null && answer.because !== null) blocks.push(caution(answer.because));
  blocks.push(...notes.map(({ message, remedy }) => caution(`${message} ${remedy}`)));
  if (answer.goodEnough !== null) blocks.push(...verdictBlocks(answer.goodEnough));
  if (answer.exposures.length > 0) blocks.push(...targetBlocks(answer.exposures));
  if (answer.table !== null) blocks.push(...tableBlocks(answer.table));
  if (answer.poles !== null) blocks.push(...poleBlocks(answer.poles));
  blocks.push(...termsBlocks(answer.goodEnough));
  return { title: `How long ${answer.mountName} may expose`, blocks };
}

/**
 * Whether the mount is good enough.
 *
 * @example
 * ```ts
 * reportText(goodEnoughReport(goodEnough(fit), fit.mount.name));
 * ```
 */
export function goodEnoughReport(answer: GoodEnough, mountName: string): Report {
  return {
    title: `Is ${mountName} good enough?`,
    blocks: [...verdictBlocks(answer), ...termsBlocks(answer)],
  };
}

function verdictBlocks(answer: GoodEnough): Block[] {
  return [
    {
      kind: "sentence",
      tone: answer.verdict === "unsound" ? "caution" : "verdict",
      text: answer.sentence,
    },
    { kind: "list", ordered: false, items: answer.reasons },
  ];
}

/** What is assumed, and what can hurt where the next round is at the base. */
function termsBlocks(answer: GoodEnough | null): Block[] {
  const blocks = (answer?.assumptions ?? exposureAssumptions).map(
    (text): Block => ({ kind: "sentence", text }),
  );
  const cautions = answer?.cautions ?? [];
  if (cautions.length > 0) {
    blocks.push({ kind: "heading", text: "Before a hand goes near the base" });
    blocks.push(...cautions.map((text): Block => ({ kind: "sentence", tone: "caution", text })));
  }
  return blocks;
}

const ends: Readonly<Record<ExposureEnd, string>> = {
  smear: "smear",
  limits: "leaves the limits",
  "four hours": "looked no further",
};

function targetBlocks(exposures: readonly Exposure[]): Block[] {
  const first = exposures[0]!;
  const unit = unitText(first.unit);
  const how = first.guided ? "guided on the target" : "unguided";
  const moving = exposures.some(({ causes }) => causes.ownMotion > 0);
  const blocks: Block[] = exposures.map((one): Block => {
    const answer = one.holds
      ? `${one.target.label}: ${secondsText(one.exposureS)} will do.`
      : one.longestS === 0
        ? `${one.target.label}: the telescope may not point there.`
        : `${one.target.label}: ${secondsText(one.exposureS)} is too long.`;
    const smear =
      one.longestS === 0
        ? ""
        : ` Stars are smeared by ${fixed(one.smear.rim, 1)} ${unit} at the rim (${fixed(one.smear.middle, 1)} in the middle); up to ${Number(one.smearLimit.toFixed(2))} are allowed, which lasts ${secondsText(one.longestS)}.`;
    return { kind: "sentence", tone: one.holds ? "verdict" : "plain", text: `${answer}${smear}` };
  });
  blocks.push(
    {
      kind: "table",
      caption: `What the stars do in ${secondsText(first.exposureS)}, ${how}; the drift is always unguided`,
      head: ["Target", "Drift west", "Drift north", "Turns", `Smear, ${unit}`, "Longest", "Ends by"],
      align: ["left", "right", "right", "right", "right", "right", "left"],
      rows: exposures.map((one) => [
        one.target.label,
        `${signed(one.drift.west, 1)}″`,
        `${signed(one.drift.north, 1)}″`,
        `${signed(one.fieldRotationArcmin, 2)}′`,
        fixed(one.smear.rim, 2),
        secondsText(one.longestS),
        ends[one.longestEnds],
      ]),
    },
    {
      kind: "table",
      caption: `What each cause alone would smear at the rim, ${unit}`,
      head: ["Target", "Polar axis", "Air", "Tube, rings, axes", ...(moving ? ["Own motion"] : [])],
      align: ["left", "right", "right", "right", ...(moving ? (["right"] as const) : [])],
      rows: exposures.map((one) => [
        one.target.label,
        fixed(one.causes.polarAxis, 2),
        fixed(one.causes.refraction, 2),
        fixed(one.causes.tubeAndAxes, 2),
        ...(moving ? [fixed(one.causes.ownMotion, 2)] : []),
      ]),
    },
  );
  return blocks;
}

/** Every other hour fits a terminal of eighty columns. */
const MOST_COLUMNS = 7;

function tableBlocks(table: ExposureTable): Block[] {
  const every = Math.max(1, Math.ceil(table.hourAnglesH.length / MOST_COLUMNS));
  const middle = Math.floor(table.hourAnglesH.length / 2);
  const columns = table.hourAnglesH.map((_, k) => k).filter((k) => (k - middle) % every === 0);
  return [
    { kind: "heading", text: "Over the sky" },
    {
      kind: "table",
      caption: `Longest exposures for ${Number(table.smearLimit.toFixed(2))} ${unitText(table.unit)}, by declination and hour angle; – where the telescope may not point`,
      head: [
        "Declination",
        ...columns.map((k) => {
          const hours = table.hourAnglesH[k]!;
          return hours === 0 ? "meridian" : `${fixed(Math.abs(hours), 0)} h ${hours < 0 ? "E" : "W"}`;
        }),
      ],
      align: ["right", ...columns.map(() => "right" as const)],
      rows: table.declinationsDeg.map((declination, row) => [
        `${signed(declination, 0)}°`,
        ...columns.map((k) => {
          const seconds = table.longestS[row]![k]!;
          return seconds === null ? "–" : secondsText(seconds);
        }),
      ]),
    },
  ];
}

function poleBlocks(poles: TrueOrRefracted): Block[] {
  const unit = unitText(poles.unit);
  return [
    { kind: "heading", text: "The true pole or the refracted one" },
    { kind: "sentence", text: poles.sentence },
    {
      kind: "table",
      caption: `A mount without other errors, at latitude ${fixed(poles.latitudeDeg, 1)}°, unguided`,
      head: [
        "Axis on",
        "Nine tenths allow",
        "Half allows",
        `Worst in ${secondsText(poles.exposureS)}, ${unit}`,
      ],
      align: ["left", "right", "right", "right"],
      rows: [poles.truePole, poles.refractedPole].map((aim) => [
        `the ${aim.at} pole`,
        secondsText(aim.mostS),
        secondsText(aim.medianS),
        fixed(aim.worstSmear, 2),
      ]),
    },
    {
      kind: "sentence",
      text: "Turns aim at the true pole unless you ask for the refracted one. Finding does not care: the model is valid for either.",
    },
  ];
}
