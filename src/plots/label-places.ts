/**
 * Where the words beside marks go, so that they cover neither each other nor a mark.
 */
import { hoverText, type Point } from "./drawing.js";

/** A place of a text beside its mark, as plotly names it. */
export type LabelPlace = `${"top" | "middle" | "bottom"} ${"left" | "center" | "right"}`;

/** A text that belongs to a point. */
export interface Label {
  readonly point: Point;
  readonly text: string;
}

/** A text that is in its place already, with the same sizes. */
export interface KeptLabel extends Label {
  readonly place: LabelPlace;
}

/** How large things are, pixels. */
export interface LabelSizes {
  /** One unit of the points' axes. */
  readonly unitPx: number;
  readonly fontPx: number;
  /** A mark's diameter. */
  readonly markerPx: number;
}

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A letter of the usual sans-serif fonts is about so wide, in heights of the font; with room for the widest. */
const LETTER = 0.55;
const LINE = 1.1;
const GAP_PX = 3;
/** Rounds of finding better places: after a few nothing moves any more. */
const ROUNDS = 6;
/** What a square pixel that is covered costs: more than any wish, so that texts do not even touch. */
const COVERING = 20;
/** What each step down the list of wishes costs, as a part of the text's area that is covered. */
const WISH = 0.02;

/**
 * Chooses a place for each label: one by one the place where it covers least of the others and of the marks; among
 * equally free ones towards the middle of the picture, where it cannot leave it.
 *
 * @param labels - what to place, each beside its mark
 * @param kept - what is there already
 * @returns a place for each label, in their order
 */
export function labelPlaces(
  labels: readonly Label[],
  sizes: LabelSizes,
  kept: readonly KeptLabel[] = [],
): LabelPlace[] {
  const marks = [...labels, ...kept].map(({ point }) => markBox(point, sizes));
  const standing = kept.map((label) => textBox(label, label.place, sizes));
  const wishes = labels.map(({ point }) => wishesFor(point));
  const boxes = labels.map((label, index) => wishes[index]!.map((place) => textBox(label, place, sizes)));
  const inOrder = labels.map((_, index) => index);
  // Which label comes first decides where the others are led: of a few orders the one that ends best.
  const orders = [
    inOrder,
    [...inOrder].reverse(),
    [...inOrder].sort((a, b) => labels[b]!.text.length - labels[a]!.text.length),
    ...inOrder.map((first) => [first, ...inOrder.filter((index) => index !== first)]),
  ];
  const ends = orders.map((order) => settle(order, boxes, [...standing, ...marks]));
  const best = ends.reduce((least, end) => (end.cost < least.cost ? end : least));
  return best.chosen.map((choice, index) => wishes[index]![choice]!);
}

/** A radius of the dish on a telephone, as a part of that on a wide screen. */
const NARROW = 0.5;
/** Texts that share so many square pixels still read. */
const SHARED_PX = 4;

/** The words beside marks, as a trace has them; `meta` is for a telephone, where the page's script finds it. */
export interface MarkWords {
  readonly text: readonly string[];
  readonly textposition: readonly LabelPlace[];
  readonly meta: { readonly narrow: Omit<MarkWords, "meta"> };
}

/**
 * The words beside marks, with their places: names where they keep clear of each other and of the marks, else numbers.
 *
 * @param labels - names at their points; the numbers count them from 1
 * @returns a function that picks the words of some of them, and whether on a telephone numbers stand for names
 */
export function namesOrNumbers(
  labels: readonly Label[],
  sizes: LabelSizes,
  kept: readonly KeptLabel[],
): { readonly wordsOf: (indices: readonly number[]) => MarkWords; readonly numbered: boolean } {
  const numbers = labels.map(({ point }, index) => ({ point, text: String(index + 1) }));
  const at = (unitPx: number) => {
    const there = { ...sizes, unitPx };
    const places = labelPlaces(labels, there, kept);
    const named = areApart(labels, places, there, kept);
    const texts = named ? labels : numbers;
    return {
      named,
      text: texts.map(({ text }) => hoverText([text])),
      textposition: named ? places : labelPlaces(numbers, there, kept),
    };
  };
  const [wide, narrow] = [at(sizes.unitPx), at(NARROW * sizes.unitPx)];
  const pick = ({ text, textposition }: typeof wide, indices: readonly number[]) => ({
    text: indices.map((index) => text[index] ?? ""),
    textposition: indices.map((index) => textposition[index] ?? "top center"),
  });
  return {
    wordsOf: (indices) => ({ ...pick(wide, indices), meta: { narrow: pick(narrow, indices) } }),
    numbered: !narrow.named,
  };
}

/** Whether the texts cover neither each other nor another's mark. */
function areApart(
  labels: readonly Label[],
  places: readonly LabelPlace[],
  sizes: LabelSizes,
  kept: readonly KeptLabel[],
): boolean {
  const marks = labels.map(({ point }) => markBox(point, sizes));
  const standing = kept.map((label) => textBox(label, label.place, sizes));
  const texts = labels.map((label, index) => textBox(label, places[index]!, sizes));
  return texts.every((text, index) =>
    [...marks, ...standing, ...texts.slice(index + 1)].every((other) => commonArea(text, other) < SHARED_PX),
  );
}

/** Places the labels one after the other, then again with all others in place, then two at once, until none moves. */
function settle(
  order: readonly number[],
  boxes: readonly (readonly Box[])[],
  fixed: readonly Box[],
): { chosen: readonly number[]; cost: number } {
  const chosen = new Array<number>(order.length).fill(-1);
  const standing = (except: readonly number[]): Box[] => [
    ...fixed,
    ...chosen.flatMap((choice, other) =>
      except.includes(other) || choice < 0 ? [] : [boxes[other]![choice]!],
    ),
  ];
  for (let round = 0; round < ROUNDS; round++) {
    let moved = false;
    for (const index of order) {
      const best = leastCovered(boxes[index]!, standing([index]));
      moved ||= best.place !== chosen[index];
      chosen[index] = best.place;
    }
    moved ||= settlePairs(chosen, boxes, standing);
    if (!moved) break;
  }
  const costs = order.map((index) => costOf(boxes[index]!, chosen[index]!, standing([index])));
  return { chosen, cost: costs.reduce((sum, cost) => sum + cost, 0) };
}

/** A move of two must free so many square pixels at least: less is rounding. */
const LEAST_GAIN_PX = 0.01;

/** Moves two labels at once where each alone is stuck; whether any moved. */
function settlePairs(
  chosen: number[],
  boxes: readonly (readonly Box[])[],
  standing: (except: readonly number[]) => Box[],
): boolean {
  let moved = false;
  for (let a = 0; a < chosen.length; a++) {
    const own = costOf(boxes[a]!, chosen[a]!, standing([a]));
    if (own < WISH * chosen[a]! * areaOf(boxes[a]![0]!) + LEAST_GAIN_PX) continue;
    for (let b = 0; b < chosen.length; b++) {
      if (b === a) continue;
      const others = standing([a, b]);
      const together = (placeA: number, placeB: number): number =>
        costOf(boxes[a]!, placeA, others) +
        costOf(boxes[b]!, placeB, others) +
        COVERING * commonArea(boxes[a]![placeA]!, boxes[b]![placeB]!);
      let least = together(chosen[a]!, chosen[b]!) - LEAST_GAIN_PX;
      boxes[a]!.forEach((_, placeA) => {
        boxes[b]!.forEach((__, placeB) => {
          const cost = together(placeA, placeB);
          if (cost >= least) return;
          least = cost;
          chosen[a] = placeA;
          chosen[b] = placeB;
          moved = true;
        });
      });
    }
  }
  return moved;
}

/** The places, the most wished for first: inwards and up. */
function wishesFor([x]: Point): LabelPlace[] {
  const [inward, outward] = x > 0 ? (["left", "right"] as const) : (["right", "left"] as const);
  return [
    `top ${inward}`,
    `middle ${inward}`,
    `bottom ${inward}`,
    "top center",
    "bottom center",
    `top ${outward}`,
    `middle ${outward}`,
    `bottom ${outward}`,
  ];
}

function leastCovered(places: readonly Box[], obstacles: readonly Box[]): { place: number; cost: number } {
  let best = { place: 0, cost: Number.POSITIVE_INFINITY };
  places.forEach((_, place) => {
    const cost = costOf(places, place, obstacles);
    if (cost < best.cost) best = { place, cost };
  });
  return best;
}

/** What a place covers, and how little it is wished for. */
function costOf(places: readonly Box[], place: number, obstacles: readonly Box[]): number {
  const box = places[place]!;
  return (
    obstacles.reduce((sum, other) => sum + COVERING * commonArea(box, other), 0) + WISH * place * areaOf(box)
  );
}

function areaOf(box: Box): number {
  return (box.right - box.left) * (box.bottom - box.top);
}

function commonArea(a: Box, b: Box): number {
  const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
  const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
  return across > 0 && down > 0 ? across * down : 0;
}

function markBox([x, y]: Point, { unitPx, markerPx }: LabelSizes): Box {
  const [cx, cy] = [x * unitPx, -y * unitPx];
  const half = markerPx / 2;
  return { left: cx - half, right: cx + half, top: cy - half, bottom: cy + half };
}

function textBox({ point: [x, y], text }: Label, place: LabelPlace, sizes: LabelSizes): Box {
  const [cx, cy] = [x * sizes.unitPx, -y * sizes.unitPx];
  const width = text.length * sizes.fontPx * LETTER;
  const height = sizes.fontPx * LINE;
  const gap = sizes.markerPx / 2 + GAP_PX;
  const left = place.endsWith("left")
    ? cx - gap - width
    : place.endsWith("right")
      ? cx + gap
      : cx - width / 2;
  const top = place.startsWith("top")
    ? cy - gap - height
    : place.startsWith("bottom")
      ? cy + gap
      : cy - height / 2;
  return { left, right: left + width, top, bottom: top + height };
}
