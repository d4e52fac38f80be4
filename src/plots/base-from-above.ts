import type { Adjuster, Spot, TurnMade } from "../base/adjusters/adjuster.js";
import { adjustersOf } from "../base/adjusters/adjusters.js";
import { millimetres, turnsOf as turnsPhrase } from "../base/base-words.js";
import type { Move, TurnAdvice } from "../base/turn-advice.js";
import type { Mount } from "../mount/mount.js";
import { listText } from "../words/lists.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  arrowOutline,
  arrowsTrace,
  hoverText,
  joined,
  layoutFrame,
  legendBelow,
  outlined,
  type Point,
  placed,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 640;

/** Something on the base, and what is to be done there. */
interface Deed {
  readonly spot: Spot;
  readonly move: Move | null;
  /** Up or east positive, millimetres; 0 where it stays. */
  readonly signedMm: number;
}

/** What the pictures share. */
interface Ground {
  readonly centre: Point;
  /** Half the length of the base, and at least so much that words have room, millimetres. */
  readonly size: number;
  /** A tenth of it: marks and arrows are measured by it. */
  readonly unit: number;
  readonly theme: Theme;
}

/**
 * The base seen from above: which feet to turn, which way, how far; what else is moved, too. North up, east right.
 *
 * @param mount - the mount with its base
 * @param advice - the turns
 * @param theme - the colours; light when not given
 */
export function baseFromAbove(mount: Mount, advice: TurnAdvice, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const adjusters = mount.base === null ? [] : adjustersOf(mount.base, mount.site.latitude);
  const deeds = adjusters.flatMap((adjuster) => deedsOf(adjuster, advice));
  const feet = deeds.filter(({ spot }) => spot.foot);
  const drawn = deeds.filter(({ spot, move }) => spot.foot || move !== null);
  const places = feet.map(({ spot }) => placeOf(spot));
  const centre = middle(places);
  const size = Math.max(
    200,
    ...places.map(([x, y]) => Math.max(Math.abs(x - centre[0]), Math.abs(y - centre[1]))),
  );
  const ground: Ground = { centre, size, unit: size / 10, theme };
  const [reachX, reachY] = [
    1.75 * Math.max(size * 0.5, ...places.map(([x]) => Math.abs(x - centre[0]))),
    // Four lines of text stand above a jack, also on a telephone.
    2.1 * Math.max(size * 0.5, ...places.map(([, y]) => Math.abs(y - centre[1]))),
  ];
  const traces: Trace[] = [
    {
      ...traceOf.bareLines,
      ...joined([hull(places)]),
      fill: "toself",
      fillcolor: colours.barred,
      line: { color: colours.body, width: 6 },
    },
    ...polarAxis(
      mount,
      drawn.filter(({ spot, move }) => !spot.foot && move !== null),
      ground,
    ),
  ];
  const groups = [
    {
      name: "raise",
      symbol: "triangle-up",
      colour: colours.first,
      has: ({ signedMm }: Deed) => signedMm > 0,
    },
    {
      name: "lower",
      symbol: "triangle-down",
      colour: colours.second,
      has: ({ signedMm }: Deed) => signedMm < 0,
    },
    { name: "leave", symbol: "circle-open", colour: colours.muted, has: ({ move }: Deed) => move === null },
  ];
  const upright = drawn.filter((deed) => !isSideways(deed));
  for (const group of groups) {
    const members = upright.filter((deed) => group.has(deed));
    if (members.length === 0) continue;
    traces.push(
      ...members.filter(({ move }) => isTurned(move)).map((deed) => roundArrow(deed, ground, group.colour)),
      ...uprightTraces(members, group, ground),
    );
  }
  traces.push(...drawn.filter(isSideways).flatMap((deed) => sidewaysTraces(deed, ground)));
  traces.push(...compass(reachX, reachY, ground));
  const layout = layoutFrame(theme, `The base of ${mount.name} from above`, HEIGHT_PX, {
    margin: { l: 8, r: 8, t: 12, b: 16 },
    legend: legendBelow(theme, -0.02),
    // Without scales beside it the drawing has the whole width of a telephone for the words at the jacks.
    xaxis: {
      visible: false,
      range: [rounded(centre[0] - reachX), rounded(centre[0] + reachX)],
      constrain: "domain",
    },
    yaxis: {
      visible: false,
      range: [rounded(centre[1] - reachY), rounded(centre[1] + reachY)],
      scaleanchor: "x",
      constrain: "domain",
    },
  });
  return { data: traces, layout, summary: summaryText(deeds, advice) };
}

function summaryText(deeds: readonly Deed[], advice: TurnAdvice): string {
  const said = deeds
    .filter(({ move }) => move !== null)
    .map((deed) => `${deed.spot.title} ${deedText(deed)}`);
  const what = !advice.recommended
    ? "Nothing is to be turned"
    : said.length === 0
      ? "No jack is to be turned"
      : `Turn: ${listText(said)}`;
  return `${what}. Seen from above: north up, east right.`;
}

/** What is to be done at each place of an adjuster, one by one. */
function deedsOf(adjuster: Adjuster, advice: TurnAdvice): Deed[] {
  return adjuster.spots.flatMap((spot): Deed[] => {
    const moves = advice.recommended ? advice.moves.filter((move) => move.adjuster === spot.adjuster) : [];
    if (moves.length === 0) return [{ spot, move: null, signedMm: 0 }];
    return moves.map((move) => ({ spot, move, signedMm: signedMm(adjuster, move) }));
  });
}

function signedMm(adjuster: Adjuster, { adjuster: name, direction, turns, mm }: Move): number {
  const made: TurnMade = { adjuster: name, direction, turns: turns ?? 0, mm: turns === null ? mm : null };
  const asked = adjuster.screws([made])[0]?.askedMm ?? 0;
  return asked < 0 ? -mm : mm;
}

function isTurned(move: Move | null): boolean {
  return move !== null && /clockwise$/.test(move.direction);
}

function isSideways({ move }: Deed): boolean {
  return move !== null && (move.direction === "east" || move.direction === "west");
}

/** `3 turns`, `clockwise`, `up 6.00 mm`. */
function wordsOf({ move, signedMm: mm }: Deed): string[] {
  if (move === null) return ["leave"];
  const far = millimetres(move.mm);
  const turns = move.turns === null ? [] : [turnsPhrase(move.turns)];
  return isTurned(move)
    ? [...turns, move.direction, `${mm < 0 ? "down" : "up"} ${far}`]
    : [`${move.direction} ${far}`, ...turns];
}

/** `3 turns clockwise (up 6.00 mm)`, `east 9.56 mm (6 3/8 turns)`. */
function deedText(deed: Deed): string {
  const words = wordsOf(deed);
  const said = words.slice(0, isTurned(deed.move) ? 2 : 1).join(" ");
  const rest = words.slice(isTurned(deed.move) ? 2 : 1).join(" ");
  return rest === "" ? said : `${said} (${rest})`;
}

function placeOf({ eastMm, northMm }: Spot): Point {
  return [eastMm, northMm];
}

function middle(places: readonly Point[]): Point {
  if (places.length === 0) return [0, 0];
  const xs = places.map(([x]) => x);
  const ys = places.map(([, y]) => y);
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** The feet in order round their middle, closed. */
function hull(places: readonly Point[]): Point[] {
  const centre = middle(places);
  const ordered = [...places].sort(
    (a, b) => Math.atan2(a[1] - centre[1], a[0] - centre[0]) - Math.atan2(b[1] - centre[1], b[0] - centre[0]),
  );
  return ordered.length === 0 ? [] : [...ordered, ordered[0]!];
}

/** The polar axis as an arrow towards its upper end, kept clear of an end where something is to be pushed. */
function polarAxis(mount: Mount, pushed: readonly Deed[], { centre, size, theme }: Ground): Trace[] {
  const up = mount.site.latitude < 0 ? -1 : 1;
  const first = pushed[0];
  const aside = first === undefined ? 0 : (first.spot.northMm > centre[1] ? -0.25 : 0.25) * size;
  const from: Point = [centre[0], centre[1] + aside - 0.28 * size * up];
  const to: Point = [centre[0], centre[1] + aside + 0.28 * size * up];
  return [
    arrowsTrace([[from, to]], { shaft: 0.03 * size, head: 0.12 * size }, theme.colours.body),
    {
      ...traceOf.words,
      ...placed([[centre[0], from[1]]]),
      text: ["polar axis,<br>to its upper end"],
      textposition: up > 0 ? "bottom center" : "top center",
      textfont: { size: theme.fontSizePx - 1, color: theme.colours.muted },
    },
  ];
}

/** Three quarters of a circle round a jack with an arrow at its end: the way the hand turns, seen from above. */
function roundArrow({ spot, move }: Deed, { unit }: Ground, colour: string): Trace {
  const radius = 1.35 * unit;
  const way = move!.direction === "clockwise" ? 1 : -1;
  const at = (angle: number, r: number): Point => [
    spot.eastMm + r * Math.sin(way * angle),
    spot.northMm + r * Math.cos(way * angle),
  ];
  const half = 0.1 * unit;
  const end = Math.PI * 0.5;
  const angles = Array.from(
    { length: 19 },
    (_, index) => -Math.PI * 0.85 + ((end + Math.PI * 0.85) * index) / 18,
  );
  const band = [
    ...angles.map((angle) => at(angle, radius + half)),
    ...[...angles].reverse().map((angle) => at(angle, radius - half)),
  ];
  // The arc ends beside the jack, where either way round is on its way south.
  const [endX, endY] = at(end, radius);
  const tip = arrowOutline([endX, endY], [endX, endY - 0.7 * unit], { shaft: 0.1 * unit, head: 0.7 * unit });
  return {
    ...traceOf.bareLines,
    ...joined([[...band, band[0]!], tip]),
    fill: "toself",
    fillcolor: colour,
    line: { color: colour, width: 1 },
  };
}

function uprightTraces(
  members: readonly Deed[],
  group: { name: string; symbol: string; colour: string },
  { centre, unit, theme }: Ground,
): Trace[] {
  const lines = members.map((deed) => hoverText([deed.spot.title, ...wordsOf(deed)]));
  const isNorth = members.map(({ spot }) => spot.northMm >= centre[1]);
  return [
    {
      ...traceOf.marks,
      name: group.name,
      x: members.map(({ spot }) => rounded(spot.eastMm)),
      y: members.map(({ spot }) => rounded(spot.northMm)),
      marker: outlined(group.symbol, 18, group.colour, 2),
      hovertext: lines,
    },
    {
      ...traceOf.words,
      x: members.map(({ spot }) => rounded(spot.eastMm)),
      y: members.map(({ spot }, index) => rounded(spot.northMm + (isNorth[index] ? 1.7 : -1.7) * unit)),
      text: lines,
      textposition: isNorth.map((north) => (north ? "top center" : "bottom center")),
      textfont: { size: theme.fontSizePx, color: theme.colours.text },
    },
  ];
}

/** An arrow where something pushes or slides to a side, with its words on the inner side. */
function sidewaysTraces(deed: Deed, { centre, unit, theme }: Ground): Trace[] {
  const { spot, move } = deed;
  const [x, y] = placeOf(spot);
  const half = (move!.direction === "east" ? 1.6 : -1.6) * unit;
  const isNorth = y > centre[1];
  return [
    arrowsTrace(
      [
        [
          [x - half, y],
          [x + half, y],
        ],
      ],
      { shaft: 0.35 * unit, head: 1.1 * unit },
      theme.colours.third,
      { name: spot.title.split(":")[0]!, showlegend: true },
    ),
    {
      ...traceOf.words,
      ...placed([[x, y + (isNorth ? -0.9 : 0.9) * unit]]),
      text: [hoverText([spot.title, ...wordsOf(deed)])],
      textposition: isNorth ? "bottom center" : "top center",
      textfont: { size: theme.fontSizePx, color: theme.colours.text },
    },
  ];
}

function compass(reachX: number, reachY: number, { centre, unit, theme }: Ground): Trace[] {
  const x = centre[0];
  const y = centre[1] + reachY - 2.4 * unit;
  return [
    arrowsTrace(
      [
        [
          [x, y],
          [x, y + 1.2 * unit],
        ],
      ],
      { shaft: 0.12 * unit, head: 0.7 * unit },
      theme.colours.text,
    ),
    {
      ...traceOf.words,
      x: [rounded(x), rounded(centre[0] + reachX * 0.93), rounded(centre[0] - reachX * 0.93), rounded(x)],
      y: [
        rounded(y + 1.7 * unit),
        rounded(centre[1]),
        rounded(centre[1]),
        rounded(centre[1] - reachY + 0.7 * unit),
      ],
      text: ["N", "E", "W", "S"],
      textfont: { size: theme.fontSizePx + 4, color: theme.colours.text },
    },
  ];
}
