import { jackDeed, turnsOf as turnsPhrase, turnsFigure as turnsText } from "../base/base-words.js";
import { briefCautions, underStarCautions } from "../base/cautions.js";
import type { JackTurn, Move, TurnAdvice } from "../base/turn-advice.js";
import { groupSteps, type StepGroup } from "../base/turn-steps.js";
import type { UnderStar } from "../base/under-star.js";
import type { MountFit } from "../fit/fit-result.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { count, listText } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { arcminText, fixed, signed, sizeText } from "../words/numbers.js";
import { clockOf, inWholeMinutes } from "./clock.js";
import { columnTable } from "./columns.js";
import { poleSentence, sentence } from "./fit-report.js";
import { type Block, block, type Report } from "./report.js";

/** How much of the report is wanted. */
export interface TurnsReportOptions {
  /** The verdict, what limits it, the cautions and the amounts; not the steps and the reasons. */
  readonly brief?: boolean;
}

/**
 * Which jacks and bolts to turn: the verdict, what limits it, the picture's place, the cautions in brief, how far, in what
 * order, what comes after; the reasons and the cautions in full stand behind.
 *
 * @param advice - the turns
 * @param fit - the fit that they answer, for where the axis stands now
 * @returns a report for {@link reportText} or {@link reportHtml}
 */
export function turnsReport(advice: TurnAdvice, fit?: MountFit, options: TurnsReportOptions = {}): Report {
  const blocks: Block[] = [block.verdict(verdictOfTurns(advice))];
  const notes = [...advice.notes, ...(fit?.notes ?? []).map(noteText)];
  blocks.push(...notes.map((text) => block.note(sentence(text))));
  if (fit !== undefined && advice.verdict !== "unsound" && fit.sightings.used > 0) {
    blocks.push(block.sentence(`Now ${poleSentence(fit).replace(/^The/, "the")}`));
  }
  if (advice.recommended) {
    blocks.push(
      { kind: "picture", place: 0 },
      block.heading("Before a hand goes near the base"),
      ...cautionBlocks(briefCautions),
      ...amounts(advice),
    );
    if (!options.brief) blocks.push(...stepBlocks(advice), ...starBlocks(advice.underStar));
    blocks.push(...afterBlocks(advice, fit));
  }
  if (!options.brief) blocks.push(...behind(advice));
  return { title: fit === undefined ? "What to turn" : `What to turn on ${fit.mount.name}`, blocks };
}

function cautionBlocks(cautions: readonly string[]): Block[] {
  return cautions.map((text) => block.caution(sentence(text)));
}

function behind(advice: TurnAdvice): Block[] {
  // What stands above already is not said again.
  const said = new Set([...advice.notes, ...(advice.recommended ? [] : advice.reasons.slice(0, 1))]);
  const reasons = advice.reasons.filter((reason) => !said.has(reason));
  const why: Block[] =
    reasons.length === 0
      ? []
      : [
          {
            kind: "behind",
            title: "Why",
            blocks: [block.list(reasons.map(sentence))],
          },
        ];
  return advice.cautions.length === 0
    ? why
    : [...why, { kind: "behind", title: "The cautions in full", blocks: cautionBlocks(advice.cautions) }];
}

function stepBlocks(advice: TurnAdvice): Block[] {
  if (advice.steps.length === 0) return [];
  return [
    block.heading("In this order"),
    block.sentence(
      `The whole is done in ${count(advice.steps.length, "small step")}, one adjuster at a time.`,
    ),
    { kind: "list", ordered: true, items: groupSteps(advice.steps).map(groupText) },
  ];
}

/** A group of steps as one item: what is repeated is said once. */
function groupText({ times, steps }: StepGroup): string {
  const texts = steps.map((step) => sentence(step.text));
  if (times === 1) return texts.join(" ");
  return `${times} times over: ${texts.join(" Then: ")}`;
}

/** What to do, in a sentence or two. */
export function verdictOfTurns(advice: TurnAdvice): string {
  if (!advice.recommended) return sentence(advice.reasons[0] ?? "Stop here: turn nothing.");
  const deeds = advice.moves.map((move) => deedOf(move, advice));
  const slide = advice.slide === null ? "" : ` Slide the base: ${slideText(advice.slide)}.`;
  const turned = advice.moves.flatMap((move, index) => (isSlide(move, advice) ? [] : [deeds[index]!]));
  return `${turned.length === 0 ? "" : `Turn ${listText(turned)}.`}${slide}`.trim();
}

function isSlide(move: Move, advice: TurnAdvice): boolean {
  return advice.slide !== null && move.adjuster === "base";
}

function deedOf(move: Move, advice: TurnAdvice): string {
  const jack = advice.jacks.find((one) => one.name === move.adjuster);
  if (jack !== undefined) return `the ${jack.name} jack ${jackDeed(jack)}`;
  const far = move.turns === null ? "" : `${turnsPhrase(move.turns)}, so that `;
  const part =
    advice.azimuthBolts !== null && move.adjuster === "azimuth bolts"
      ? `the ${advice.azimuthBolts.end} end`
      : "it";
  return `the ${move.adjuster} ${far}${part} moves ${fixed(move.mm, 2)} mm ${move.direction}`;
}

function isMoved(jack: JackTurn): boolean {
  return jack.turns > 0 && jack.direction !== "none";
}

function slideText(slide: NonNullable<TurnAdvice["slide"]>): string {
  return `its ${slide.end} end ${fixed(slide.shiftMm, 1)} mm to the ${slide.direction}`;
}

function afterBlocks(advice: TurnAdvice, fit: MountFit | undefined): Block[] {
  const { altitude, east } = advice.after;
  const { afterUncertainty: sure, levelChange: level } = advice;
  const distance = arcminText(Math.hypot(altitude, east));
  const tilts = [
    ...tiltPart("north", "south", level.northUpMmPerM),
    ...tiltPart("east", "west", level.eastUpMmPerM),
  ];
  const items = [
    `The axis should then point ${sizeText({ value: altitude, uncertainty: sure.altitude })} ${highOrLow(altitude)} and ${sizeText({ value: east, uncertainty: sure.east })} ${eastOrWest(east)}, ${distance} from the pole.`,
    ...(tilts.length === 0 ? [] : [`A level on the base will show ${listText(tilts)}.`]),
  ];
  if (Math.abs(advice.hourAngleZeroShift) >= 0.05) {
    const way = advice.hourAngleZeroShift < 0 ? "east" : "west";
    items.push(
      `Hour-angle readings will be ${arcminText(Math.abs(advice.hourAngleZeroShift))} further ${way}: the base carries the ring round a little. Nothing is wrong; the next fit finds the new zero.`,
    );
  }
  if (advice.jacks.length > 3) {
    const limit = fit?.mount.base?.warpLimitMm;
    items.push(
      `The feet end up ${fixed(Math.abs(advice.warpMm), 2)} mm out of one plane${limit === undefined ? "" : ` (limit ${fixed(limit, 2)} mm)`}.`,
    );
  }
  items.push("Sight six stars or more again and fit again, to see what the turns did.");
  return [block.heading("After it"), block.list(items)];
}

function tiltPart(plus: string, minus: string, mmPerM: number): string[] {
  return Math.abs(mmPerM) < 0.005
    ? []
    : [`the ${mmPerM < 0 ? minus : plus} side up by ${fixed(Math.abs(mmPerM), 2)} mm per metre`];
}

/** How far everything is moved. */
function amounts(advice: TurnAdvice): Block[] {
  const blocks: Block[] = [block.heading("How far")];
  if (advice.jacks.some(isMoved)) {
    blocks.push({
      kind: "table",
      caption: "Every jack, the unmoved too; clockwise as seen from above",
      head: ["Jack", "Rise, mm", "Turns", "Direction", "± turns"],
      align: ["left", "right", "right", "left", "right"],
      rows: advice.jacks.map((jack) => [
        jack.name,
        signed(jack.riseMm, 2),
        turnsText(jack.turns),
        isMoved(jack) ? jack.direction : "leave",
        fixed(jack.uncertaintyTurns, 2),
      ]),
    });
  }
  const others = advice.moves.filter((move) => !advice.jacks.some(({ name }) => name === move.adjuster));
  if (others.length > 0) {
    blocks.push({
      kind: "table",
      caption: "The other adjusters, and the way that the end or the bearing moves",
      head: ["Adjuster", "Way, mm", "Turns", "Direction", "± turns"],
      align: ["left", "right", "right", "left", "right"],
      rows: others.map((move) => [
        isSlide(move, advice) ? `base, its ${advice.slide!.end} end` : nameOf(move, advice),
        fixed(move.mm, 2),
        move.turns === null ? "no screw" : turnsText(move.turns),
        move.direction,
        move.turns === null ? "" : fixed(move.uncertaintyTurns, 2),
      ]),
    });
  }
  return blocks;
}

function nameOf(move: Move, advice: TurnAdvice): string {
  return move.adjuster === "azimuth bolts" && advice.azimuthBolts !== null
    ? `azimuth bolts, ${advice.azimuthBolts.end} end`
    : move.adjuster;
}

/** `12.3′ east and 4.0′ north`. */
function skyWay({ west, north }: { readonly west: number; readonly north: number }): string {
  return `${arcminText(Math.abs(west))} ${west < 0 ? "east" : "west"} and ${arcminText(Math.abs(north))} ${north < 0 ? "south" : "north"}`;
}

/** Turning by what a star shows: where to set, how it is done, and what it leaves. */
function starBlocks(under: UnderStar | null): Block[] {
  if (under === null) return [];
  const [first, last] = [under.readings[0]!, under.readings.at(-1)!];
  const times = under.readings.map(({ time }) => time);
  const clock = clockOf(under.timeZone, first.time, inWholeMinutes(times));
  const half = under.halfFieldArcmin;
  const items = [
    `With a drive that follows: set both axes to the readings of the coming minute, clamp them, and start the drive. Set both again by the table before the last look.`,
    `Without a drive: set both axes for a moment two minutes ahead and clamp them. Look at that very moment, turn by what you saw, set again, and look again.`,
    `Before the first turn ${under.star} should be ${skyWay(under.offBefore)} of the middle. If it is off by more than a few arcminutes from there, find out why first. West is the way that a star drifts while the drive stands.`,
    ...under.shares.map(
      (share) =>
        `By ${share.means}, in the order of the steps: turn until the star has moved ${skyWay(share)}. It is then ${skyWay(share.leaves)} of the middle.`,
    ),
    "Last, bring the star to the middle with the same adjusters, by small steps.",
    ...(half === null || under.stages.length === 0
      ? []
      : [
          `The star begins outside the camera's field (half of it is ${arcminText(half)}). Go in ${under.stages.length} stages: each has its readings, and ends with the star in the middle.`,
        ]),
  ];
  const blocks: Block[] = [
    block.heading(`Better: turned under ${under.star}`),
    block.sentence(
      `A star shows at once what the screws and the floor really do, so one round serves. ${under.star} (magnitude ${fixed(under.magnitude, 1)}) is ${fixed(under.altitudeDeg, 0)}° high at azimuth ${fixed(under.azimuthDeg, 0)}°. The axis will then be right to ± ${arcminText(under.afterUncertainty.altitude)} in altitude and ± ${arcminText(under.afterUncertainty.east)} east–west.`,
    ),
    ...cautionBlocks(underStarCautions),
    { kind: "list", ordered: true, items },
  ];
  if (under.stages.length > 0) {
    blocks.push({
      kind: "table",
      caption: "The stages: what to add to the table's readings",
      head: ["Stage", "Hour angle", "Declination"],
      align: ["right", "right", "right"],
      rows: under.stages.map(({ hourAngle, declination }, index) => [
        String(index + 1),
        signed(hourAngle, Math.abs(hourAngle) < 10 ? 2 : 0),
        signed(declination, Math.abs(declination) < 10 ? 2 : 0),
      ]),
    });
  }
  blocks.push(
    columnTable(
      `What to set, minute by minute, from ${clock.moment(first.time)} to ${clock.moment(last.time)}. ${clock.sentence}`,
      [
        { head: "Time", align: "left", cell: ({ time }) => clock.time(time) },
        clock.isLocal ? { head: "UTC", align: "left", cell: ({ time }) => clock.utc(time) } : null,
        { head: "Hour angle", align: "right", cell: ({ hourAngleText }) => hourAngleText },
        { head: "Declination", align: "right", cell: ({ declinationText }) => declinationText },
      ],
      under.readings,
    ),
    block.sentence(
      `What a star showed need not be counted. In turned.csv leave turns empty; fill in star, time, starWest and starNorth (arcminutes that the star moved, west and north positive) for each adjuster, with "jacks" for all jacks together.`,
    ),
  );
  return blocks;
}
