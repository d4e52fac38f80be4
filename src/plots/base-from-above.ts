import { jackDeed, turnsOf as turnsPhrase } from "../base/base-words.js";
import type { JackTurn, TurnAdvice } from "../base/turn-advice.js";
import type { Jack, Mount } from "../mount/mount.js";
import { listText } from "../words/lists.js";
import { fixed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  arrowOutline,
  arrowsTrace,
  figure,
  hoverText,
  joined,
  layoutFrame,
  legendBelow,
  type Point,
  rounded,
  type Trace,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 640;

/**
 * The base seen from above: which feet to turn, which way, how far; the bolts and the slide too. North up, east right.
 *
 * @param mount - the mount with its base
 * @param advice - the turns
 * @param theme - the colours; light when not given
 */
export function baseFromAbove(mount: Mount, advice: TurnAdvice, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const jacks = mount.base?.jacks ?? [];
  const places: Point[] = jacks.map((jack) => [jack.eastMm, jack.northMm]);
  const centre: Point = middle(places);
  const size = Math.max(
    200,
    ...places.map(([x, y]) => Math.max(Math.abs(x - centre[0]), Math.abs(y - centre[1]))),
  );
  const [reachX, reachY] = [
    1.75 * Math.max(size * 0.5, ...places.map(([x]) => Math.abs(x - centre[0]))),
    // Four lines of text stand above a jack, also on a telephone.
    2.1 * Math.max(size * 0.5, ...places.map(([, y]) => Math.abs(y - centre[1]))),
  ];
  const unit = size / 10;
  const halfLength = Math.max(0, ...places.map(([, y]) => Math.abs(y - centre[1])));
  const traces: Trace[] = [
    {
      type: "scatter",
      mode: "lines",
      ...joined([hull(places)]),
      fill: "toself",
      fillcolor: colours.barred,
      line: { color: colours.body, width: 6 },
      hoverinfo: "skip",
      showlegend: false,
    },
    ...polarAxis(mount, advice, centre, size, theme),
  ];
  const groups: readonly {
    name: string;
    symbol: string;
    colour: string;
    has: (turn: JackTurn | null) => boolean;
  }[] = [
    {
      name: "raise",
      symbol: "triangle-up",
      colour: colours.first,
      has: (turn) => moved(turn) && turn!.riseMm > 0,
    },
    {
      name: "lower",
      symbol: "triangle-down",
      colour: colours.second,
      has: (turn) => moved(turn) && turn!.riseMm < 0,
    },
    { name: "leave", symbol: "circle-open", colour: colours.muted, has: (turn) => !moved(turn) },
  ];
  for (const group of groups) {
    const members = jacks.filter((jack) => group.has(turnOf(jack, advice)));
    if (members.length === 0) {
      continue;
    }
    const turning = members.filter((jack) => moved(turnOf(jack, advice)));
    if (turning.length > 0) {
      traces.push(...turning.map((jack) => roundArrow(jack, turnOf(jack, advice)!, unit, group.colour)));
    }
    traces.push(...jackTraces(members, advice, group, centre, unit, theme));
  }
  traces.push(
    ...boltTraces(mount, advice, centre, halfLength, unit, theme),
    ...slideTraces(mount, advice, centre, halfLength, unit, theme),
  );
  traces.push(...compass(centre, reachX, reachY, unit, theme));
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
  return figure(traces, layout, summaryText(jacks, advice));
}

function summaryText(jacks: readonly Jack[], advice: TurnAdvice): string {
  const deeds = jacks
    .map((jack) => turnOf(jack, advice))
    .filter((turn): turn is JackTurn => moved(turn))
    .map((turn) => `${turn.name} ${jackDeed(turn)}`);
  const bolts = advice.azimuthBolts;
  if (bolts !== null && bolts.turns > 0) {
    deeds.push(
      `azimuth bolts ${turnsPhrase(bolts.turns)}, ${bolts.end} end ${fixed(bolts.shiftMm, 2)} mm ${bolts.direction}`,
    );
  }
  if (advice.slide !== null) {
    deeds.push(
      `slide the ${advice.slide.end} end ${fixed(advice.slide.shiftMm, 1)} mm ${advice.slide.direction}`,
    );
  }
  const what =
    !advice.recommended && advice.slide === null
      ? "Nothing is to be turned"
      : deeds.length === 0
        ? "No jack is to be turned"
        : `Turn: ${listText(deeds)}`;
  return `${what}. Seen from above: north up, east right.`;
}

function turnOf(jack: Jack, advice: TurnAdvice): JackTurn | null {
  return advice.recommended ? (advice.jacks.find((turn) => turn.name === jack.name) ?? null) : null;
}

function moved(turn: JackTurn | null): turn is JackTurn {
  return turn !== null && turn.turns > 0 && turn.direction !== "none";
}

function middle(places: readonly Point[]): Point {
  if (places.length === 0) {
    return [0, 0];
  }
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
function polarAxis(mount: Mount, advice: TurnAdvice, centre: Point, size: number, theme: Theme): Trace[] {
  const up = mount.site.latitude < 0 ? -1 : 1;
  const pushed = advice.slide?.end ?? advice.azimuthBolts?.end ?? null;
  const aside = pushed === null ? 0 : (pushed === "north" ? -0.25 : 0.25) * size;
  const from: Point = [centre[0], centre[1] + aside - 0.28 * size * up];
  const to: Point = [centre[0], centre[1] + aside + 0.28 * size * up];
  return [
    arrowsTrace([[from, to]], { shaft: 0.03 * size, head: 0.12 * size }, theme.colours.body),
    {
      type: "scatter",
      mode: "text",
      x: [rounded(centre[0])],
      y: [rounded(from[1])],
      text: ["polar axis,<br>to its upper end"],
      textposition: up > 0 ? "bottom center" : "top center",
      textfont: { size: theme.fontSizePx - 1, color: theme.colours.muted },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
}

/** Three quarters of a circle round a jack with an arrow at its end: the way the hand turns, seen from above. */
function roundArrow(jack: Jack, turn: JackTurn, unit: number, colour: string): Trace {
  const radius = 1.35 * unit;
  const way = turn.direction === "clockwise" ? 1 : -1;
  const at = (angle: number, r: number): Point => [
    jack.eastMm + r * Math.sin(way * angle),
    jack.northMm + r * Math.cos(way * angle),
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
    type: "scatter",
    mode: "lines",
    ...joined([[...band, band[0]!], tip]),
    fill: "toself",
    fillcolor: colour,
    line: { color: colour, width: 1 },
    hoverinfo: "skip",
    showlegend: false,
  };
}

function jackTraces(
  members: readonly Jack[],
  advice: TurnAdvice,
  group: { name: string; symbol: string; colour: string },
  centre: Point,
  unit: number,
  theme: Theme,
): Trace[] {
  const lines = members.map((jack) => {
    const turn = turnOf(jack, advice);
    return moved(turn)
      ? [
          jack.name,
          `${turnsPhrase(turn.turns)}`,
          `${turn.direction}`,
          `${turn.riseMm < 0 ? "down" : "up"} ${fixed(Math.abs(turn.riseMm), 2)} mm`,
        ]
      : [jack.name, "leave"];
  });
  return [
    {
      type: "scatter",
      mode: "markers",
      name: group.name,
      x: members.map((jack) => jack.eastMm),
      y: members.map((jack) => jack.northMm),
      marker: {
        symbol: group.symbol,
        size: 18,
        color: group.colour,
        line: { color: group.colour, width: 2 },
      },
      hovertext: lines.map((line) => hoverText(line)),
      hoverinfo: "text",
    },
    {
      type: "scatter",
      mode: "text",
      x: members.map((jack) => jack.eastMm),
      y: members.map((jack) => rounded(jack.northMm + (jack.northMm >= centre[1] ? 1.7 : -1.7) * unit)),
      text: lines.map((line) => hoverText(line)),
      textposition: members.map((jack) => (jack.northMm >= centre[1] ? "top center" : "bottom center")),
      textfont: { size: theme.fontSizePx, color: theme.colours.text },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
}

function sideways(
  end: "north" | "south",
  direction: "east" | "west",
  lines: readonly string[],
  centre: Point,
  halfLength: number,
  unit: number,
  theme: Theme,
  name: string,
): Trace[] {
  const way = direction === "east" ? 1 : -1;
  // On the edge itself, where the bolts push and the base slides.
  const y = centre[1] + (end === "north" ? 1 : -1) * halfLength;
  const from: Point = [centre[0] - way * 1.6 * unit, y];
  const to: Point = [centre[0] + way * 1.6 * unit, y];
  return [
    arrowsTrace([[from, to]], { shaft: 0.35 * unit, head: 1.1 * unit }, theme.colours.third, {
      name,
      showlegend: true,
    }),
    {
      type: "scatter",
      mode: "text",
      x: [rounded(centre[0])],
      y: [rounded(y + (end === "north" ? -0.9 : 0.9) * unit)],
      text: [hoverText(lines)],
      textposition: end === "north" ? "bottom center" : "top center",
      textfont: { size: theme.fontSizePx, color: theme.colours.text },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
}

function boltTraces(
  mount: Mount,
  advice: TurnAdvice,
  centre: Point,
  halfLength: number,
  unit: number,
  theme: Theme,
): Trace[] {
  const bolts = advice.azimuthBolts;
  if (!advice.recommended || bolts === null || bolts.turns === 0 || mount.base === null) {
    return [];
  }
  const lines = [
    `azimuth bolts: ${bolts.end} end`,
    `${bolts.direction} ${fixed(bolts.shiftMm, 2)} mm`,
    turnsPhrase(bolts.turns),
  ];
  return sideways(bolts.end, bolts.direction, lines, centre, halfLength, unit, theme, "azimuth bolts");
}

function slideTraces(
  mount: Mount,
  advice: TurnAdvice,
  centre: Point,
  halfLength: number,
  unit: number,
  theme: Theme,
): Trace[] {
  const slide = advice.slide;
  if (slide === null || mount.base === null) {
    return [];
  }
  const lines = [`slide the ${slide.end} end`, `${slide.direction} ${fixed(slide.shiftMm, 1)} mm`];
  return sideways(slide.end, slide.direction, lines, centre, halfLength, unit, theme, "slide the base");
}

function compass(centre: Point, reachX: number, reachY: number, unit: number, theme: Theme): Trace[] {
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
      type: "scatter",
      mode: "text",
      x: [rounded(x), rounded(centre[0] + reachX * 0.93), rounded(centre[0] - reachX * 0.93), rounded(x)],
      y: [
        rounded(y + 1.7 * unit),
        rounded(centre[1]),
        rounded(centre[1]),
        rounded(centre[1] - reachY + 0.7 * unit),
      ],
      text: ["N", "E", "W", "S"],
      textfont: { size: theme.fontSizePx + 4, color: theme.colours.text },
      hoverinfo: "skip",
      showlegend: false,
    },
  ];
}
