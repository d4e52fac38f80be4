/** What exposures show of the mount's errors, in words. */
import { type Fault, faultText } from "../errors.js";
import type { Exposure, ExposureEnd } from "../exposure/exposure.js";
import { type GoodEnough, secondsText, unitText } from "../exposure/good-enough.js";
import type { ExposureTable } from "../exposure/sky.js";
import type { Stack } from "../exposure/stack.js";
import type { TrueOrRefracted } from "../exposure/true-or-refracted.js";
import type { Note } from "../fit/fit-result.js";
import { count } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { fixed, signed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/** What an evening's exposures are reported from; as JSON data/schema/exposure.schema.json describes it. */
export interface ExposureAnswer {
  readonly mountName: string;
  /** The verdict in a sentence; null where none was asked. */
  readonly because: string | null;
  readonly exposures: readonly Exposure[];
  /** A stack on each target, where one was asked for. */
  readonly stacks: readonly Stack[];
  /** Targets asked for that cannot be exposed on, and why. */
  readonly leftOut: readonly Fault[];
  readonly table: ExposureTable | null;
  readonly goodEnough: GoodEnough | null;
  readonly poles: TrueOrRefracted | null;
  /** What all this stands on, in sentences. */
  readonly assumptions: readonly string[];
}

/**
 * Exposures on targets, the longest exposures over the sky, whether the mount is good enough, and which pole to aim at.
 *
 * @param notes - of the fit, where it allows no figure
 * @example
 * ```ts
 * reportText(exposureReport(exposureAnswer({ fit }).answer));
 * ```
 */
export function exposureReport(
  answer: ExposureAnswer,
  notes: readonly Pick<Note, "message" | "remedy">[] = [],
): Report {
  const blocks = answer.leftOut.map((fault) => block.caution(faultText(fault)));
  if (answer.goodEnough === null && answer.because !== null) blocks.push(block.caution(answer.because));
  blocks.push(...notes.map((note) => block.caution(noteText(note))));
  if (answer.goodEnough !== null) blocks.push(...verdictBlocks(answer.goodEnough));
  if (answer.exposures.length > 0) blocks.push(...targetBlocks(answer.exposures));
  if (answer.stacks.length > 0) blocks.push(...stackBlocks(answer.stacks, answer.exposures));
  if (answer.table !== null) blocks.push(...tableBlocks(answer.table));
  if (answer.poles !== null) blocks.push(...poleBlocks(answer.poles));
  blocks.push(...termsBlocks(answer.goodEnough ?? { assumptions: answer.assumptions, cautions: [] }));
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
    block.toned(answer.sentence, answer.verdict === "unsound" ? "caution" : "verdict"),
    block.list(answer.reasons),
  ];
}

/** What is assumed, and what can hurt where the next round is at the base. */
function termsBlocks({ assumptions, cautions }: Pick<GoodEnough, "assumptions" | "cautions">): Block[] {
  const blocks = assumptions.map(block.sentence);
  if (cautions.length > 0) {
    blocks.push(block.heading("Before a hand goes near the base"));
    blocks.push(...cautions.map(block.caution));
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
  const driven = exposures.some(({ causes }) => causes.drive > 0);
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
    return block.toned(`${answer}${smear}`, one.holds ? "verdict" : "plain");
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
      head: [
        "Target",
        "Polar axis",
        "Air",
        "Tube, rings, axes",
        ...(moving ? ["Own motion"] : []),
        ...(driven ? ["Drive"] : []),
      ],
      align: [
        "left",
        "right",
        "right",
        "right",
        ...[moving, driven].flatMap((one) => (one ? (["right"] as const) : [])),
      ],
      rows: exposures.map((one) => [
        one.target.label,
        fixed(one.causes.polarAxis, 2),
        fixed(one.causes.refraction, 2),
        fixed(one.causes.tubeAndAxes, 2),
        ...(moving ? [fixed(one.causes.ownMotion, 2)] : []),
        ...(driven ? [fixed(one.causes.drive, 2)] : []),
      ]),
    },
  );
  return blocks;
}

/** What stacks show: whether a single exposure is short and long enough, and how far the field walks. */
function stackBlocks(stacks: readonly Stack[], exposures: readonly Exposure[]): Block[] {
  const first = stacks[0]!;
  const blocks: Block[] = [
    block.heading(`A stack of ${count(first.count, "exposure")} of ${secondsText(first.exposureS)}`),
  ];
  stacks.forEach((stack, k) => {
    const one = exposures[k]!;
    const caution = stack.followsS < stack.totalS;
    blocks.push(
      block.toned(
        caution
          ? `${stack.label}: the telescope can follow for ${secondsText(stack.followsS)} only; the stack lasts ${secondsText(stack.totalS)}.`
          : `${stack.label}: ${percent(stack.common)} of the picture is in every exposure.${one.holds ? "" : ` A single one is too long: at most ${secondsText(one.longestS)}.`}`,
        caution ? "caution" : "plain",
      ),
    );
  });
  if (first.readNoisePart !== null && first.shortestS !== null) blocks.push(readNoise(first));
  blocks.push({
    kind: "table",
    caption: `What the field does over the whole stack, ${secondsText(first.totalS)}`,
    head: ["Target", "Walks west", "Walks north", "Turns", "In every picture"],
    align: ["left", "right", "right", "right", "right"],
    rows: stacks.map((stack) => [
      stack.label,
      `${signed(stack.walk.west, 0)}″`,
      `${signed(stack.walk.north, 0)}″`,
      `${signed(stack.rotationDeg, 2)}°`,
      percent(stack.common),
    ]),
  });
  return blocks;
}

function readNoise({ readNoisePart, shortestS, exposureS }: Stack): Block {
  const part = `${fixed(100 * readNoisePart!, 0)} %`;
  const verdict = exposureS >= shortestS! ? "is long enough" : "is short";
  return block.sentence(
    `A single exposure of ${secondsText(exposureS)} ${verdict}: its read noise adds ${part} to the sky's noise. From ${secondsText(shortestS!)} on it adds less than 5 %.`,
  );
}

const percent = (part: number): string => `${fixed(100 * part, 0)} %`;

/** Every other hour fits a terminal of eighty columns. */
const MOST_COLUMNS = 7;

function tableBlocks(table: ExposureTable): Block[] {
  const every = Math.max(1, Math.ceil(table.hourAnglesH.length / MOST_COLUMNS));
  const middle = Math.floor(table.hourAnglesH.length / 2);
  const columns = table.hourAnglesH.map((_, k) => k).filter((k) => (k - middle) % every === 0);
  return [
    block.heading("Over the sky"),
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
    block.heading("The true pole or the refracted one"),
    block.sentence(poles.sentence),
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
    block.sentence(
      "Turns aim at the true pole unless you ask for the refracted one. Finding does not care: the model is valid for either.",
    ),
  ];
}
