import { jackDeed, turnsOf as turnsPhrase, turnsFigure as turnsText } from "../base/base-words.js";
import type { JackTurn, TurnAdvice } from "../base/turn-advice.js";
import { groupSteps, type StepGroup } from "../base/turn-steps.js";
import type { MountFit } from "../fit/fit-result.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { count, listText } from "../words/lists.js";
import { arcminText, fixed, signed, sizeText } from "../words/numbers.js";
import { poleSentence, sentence } from "./fit-report.js";
import type { Block, Report } from "./report.js";

/**
 * Which jacks and bolts to turn, which way, how far, in what order, with the cautions before the turns.
 *
 * @param advice - the turns
 * @param fit - the fit that they answer, for where the axis stands now
 * @returns a report for {@link reportText} or {@link reportHtml}
 */
export function turnsReport(advice: TurnAdvice, fit?: MountFit): Report {
  const blocks: Block[] = [{ kind: "sentence", tone: "verdict", text: verdict(advice, fit) }];
  if (fit?.sound) {
    blocks.push({ kind: "sentence", text: `Now ${poleSentence(fit).replace(/^The/, "the")}` });
  }
  if (advice.recommended) {
    blocks.push({ kind: "sentence", text: afterSentence(advice) });
  }
  if (advice.reasons.length > 0) {
    blocks.push(
      { kind: "heading", text: "Why" },
      { kind: "list", ordered: false, items: advice.reasons.map(sentence) },
    );
  }
  if (advice.cautions.length > 0) {
    blocks.push({ kind: "heading", text: "Before a hand goes near the base" });
    for (const caution of advice.cautions) {
      blocks.push({ kind: "sentence", tone: "caution", text: sentence(caution) });
    }
  }
  blocks.push(...amounts(advice));
  if (advice.steps.length > 0) {
    blocks.push(
      { kind: "heading", text: "In this order" },
      { kind: "list", ordered: true, items: groupSteps(advice.steps).map(groupText) },
    );
  }
  if (advice.recommended && Math.abs(advice.hourAngleZeroShift) >= 0.05) {
    const way = advice.hourAngleZeroShift < 0 ? "east" : "west";
    blocks.push({
      kind: "sentence",
      text: `After turning, hour-angle readings will stand ${arcminText(Math.abs(advice.hourAngleZeroShift))} further ${way}: the base carries the ring round a little. Nothing is wrong; the next fit finds the new zero.`,
    });
  }
  if (advice.recommended && advice.jacks.length > 3) {
    blocks.push({
      kind: "sentence",
      text: `The feet end up ${fixed(Math.abs(advice.warpMm), 2)} mm out of one plane${limitText(fit)}.`,
    });
  }
  if (advice.recommended) {
    blocks.push({
      kind: "sentence",
      text: "Then sight six stars or more again and fit anew, to see what the turns did.",
    });
  }
  return { title: fit === undefined ? "What to turn" : `What to turn on ${fit.mount.name}`, blocks };
}

/** A group of steps as one item: what is repeated is said once. */
function groupText({ times, steps }: StepGroup): string {
  const texts = steps.map((step) => sentence(step.text));
  if (times === 1) return texts.join(" ");
  return `${times} times over: ${texts.join(" Then: ")}`;
}

function limitText(fit: MountFit | undefined): string {
  return fit === undefined || fit.mount.base === null
    ? ""
    : ` (limit ${fixed(fit.mount.base.warpLimitMm, 2)} mm)`;
}

function verdict(advice: TurnAdvice, fit: MountFit | undefined): string {
  if (fit !== undefined && !fit.sound) {
    return "Turn nothing: the readings cannot be trusted yet. Mend what the fit's notes say, then fit again.";
  }
  if (!advice.recommended) {
    return "Stop here: turn nothing.";
  }
  const deeds = [
    ...advice.jacks.filter(isMoved).map((jack) => `the ${jack.name} jack ${jackDeed(jack)}`),
    ...(advice.azimuthBolts === null || advice.azimuthBolts.turns === 0
      ? []
      : [
          `the azimuth bolts ${turnsPhrase(advice.azimuthBolts.turns)}, so that the ${advice.azimuthBolts.end} end moves ${advice.azimuthBolts.direction}`,
        ]),
    ...(advice.lowerBearing === null ? [] : [`the lower bearing ${bearingText(advice)}`]),
  ];
  if (advice.slide === null) return `Turn ${listText(deeds)}.`;
  // As in the steps: sliding disturbs the rest, so it comes first.
  const slide = `Slide the base: ${slideText(advice)}.`;
  return deeds.length === 0 ? slide : `${slide} Then turn ${listText(deeds)}.`;
}

function isMoved(jack: JackTurn): boolean {
  return jack.turns > 0 && jack.direction !== "none";
}

function slideText(advice: TurnAdvice): string {
  const slide = advice.slide;
  return slide === null
    ? "not needed"
    : `its ${slide.end} end ${fixed(slide.shiftMm, 1)} mm to the ${slide.direction}`;
}

function bearingText(advice: TurnAdvice): string {
  const bearing = advice.lowerBearing;
  if (bearing === null) {
    return "stays";
  }
  const moves: string[] = [];
  if (bearing.eastMm !== 0) {
    const turns = bearing.eastTurns === null ? "" : ` (${turnsPhrase(Math.abs(bearing.eastTurns))})`;
    moves.push(`${fixed(Math.abs(bearing.eastMm), 2)} mm ${bearing.eastMm < 0 ? "west" : "east"}${turns}`);
  }
  if (bearing.upMm !== 0) {
    const turns = bearing.upTurns === null ? "" : ` (${turnsPhrase(Math.abs(bearing.upTurns))})`;
    moves.push(`${fixed(Math.abs(bearing.upMm), 2)} mm ${bearing.upMm < 0 ? "down" : "up"}${turns}`);
  }
  return moves.length === 0 ? "stays" : listText(moves);
}

function afterSentence(advice: TurnAdvice): string {
  const { altitude, east } = advice.after;
  const { afterUncertainty: sure, levelChange: level } = advice;
  const distance = arcminText(Math.hypot(altitude, east));
  const after = `After the turns the axis should stand ${sizeText({ value: altitude, uncertainty: sure.altitude })} ${highOrLow(altitude)} and ${sizeText({ value: east, uncertainty: sure.east })} ${eastOrWest(east)}, ${distance} from the pole.`;
  const tilts = [
    ...tiltPart("north", "south", level.northUpMmPerM),
    ...tiltPart("east", "west", level.eastUpMmPerM),
  ];
  return tilts.length === 0 ? after : `${after} A level on the base will show ${listText(tilts)}.`;
}

function tiltPart(plus: string, minus: string, mmPerM: number): string[] {
  return Math.abs(mmPerM) < 0.005
    ? []
    : [`the ${mmPerM < 0 ? minus : plus} side up by ${fixed(Math.abs(mmPerM), 2)} mm per metre`];
}

function amounts(advice: TurnAdvice): Block[] {
  if (!advice.recommended) {
    return [];
  }
  const blocks: Block[] = [];
  if (advice.jacks.length > 0) {
    blocks.push(
      { kind: "heading", text: "How far" },
      {
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
      },
    );
  }
  const bolts = advice.azimuthBolts;
  if (bolts !== null) {
    blocks.push({
      kind: "sentence",
      text: `Azimuth bolts: move the ${bolts.end} end ${fixed(bolts.shiftMm, 2)} mm to the ${bolts.direction}, ${turnsPhrase(bolts.turns)} ± ${fixed(bolts.uncertaintyTurns, 2)}. Slacken the bolt it moves towards before pushing with the other.`,
    });
  }
  if (advice.lowerBearing !== null) {
    blocks.push({ kind: "sentence", text: `Lower bearing: move it ${bearingText(advice)}.` });
  }
  if (advice.slide !== null) {
    blocks.push({ kind: "sentence", text: `Base: slide ${slideText(advice)}.` });
  }
  const steps = advice.steps.length;
  if (steps > 0) {
    blocks.push({
      kind: "sentence",
      text: `The whole is done in ${count(steps, "small step")}, one adjuster at a time.`,
    });
  }
  return blocks;
}
