import type { PoleError } from "../fit/fit-result.js";
import { count } from "../words/lists.js";
import { arcminText, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { markTraces, reachOf, targetLayout, targetTraces } from "./axis-pointing.js";
import { hoverText, type Point, placed, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

/** Frames of a leg: at 25 a second a leg takes two seconds. */
const STEPS = 50;
/** How long the walk rests at each night, frames. */
const REST = 15;
/** A number nearer to another than this would cover it, as a part of the target's reach. */
const APART = 0.09;

/** A night of the walk: a fit serves as it is. */
export interface WalkNight {
  readonly pole: PoleError;
  /** What the night is called; its number when not given. */
  readonly label?: string;
}

/**
 * The polar axis on its way to the pole, night by night. Where scripts run, a button lets it walk; the still picture has the
 * whole way.
 *
 * @param nights - in order; fits serve as they are
 * @param theme - the colours; light when not given
 */
export function axisWalk(nights: readonly WalkNight[], theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const known = nights.filter(({ pole }) => pole.at !== null);
  const points = known.map(({ pole }): Point => [pole.east.value, pole.altitude.value]);
  const reach =
    known.length === 0
      ? 60
      : reachOf(
          known.slice(-1).map(({ pole }) => pole),
          points,
        );
  const [rings, poleCross] = targetTraces(theme, reach);
  const last = known.at(-1);
  const labels = known.map(({ label }, index) => label ?? String(index + 1));
  const named = apart(points, APART * reach);
  const traces: Trace[] = [
    rings!,
    ...(last === undefined ? [] : markTraces(theme, last.pole, "last night", "second")),
    {
      ...traceOf.marks,
      mode: "lines+markers+text",
      name: "the axis, night by night",
      ...placed(points),
      text: labels.map((label, index) => (named.has(index) ? hoverText([label]) : "")),
      textposition: "top right",
      textfont: { size: theme.fontSizePx, color: colours.text },
      line: { color: colours.first, width: 2 },
      marker: { symbol: "circle", size: 9, color: colours.first },
      hovertext: known.map(({ pole }, index) =>
        hoverText([`night ${labels[index]!}`, `${sizeText(pole.distance)} from the pole`]),
      ),
    },
    poleCross!,
  ];
  const walker = traces.length;
  const end = points.at(-1);
  if (end !== undefined && points.length > 1) {
    traces.push({
      type: "scatter",
      mode: "markers",
      name: "the axis",
      ...placed([end]),
      marker: { symbol: "star", size: 20, color: colours.third, line: { color: colours.text, width: 1 } },
      hoverinfo: "skip",
      showlegend: false,
    });
  }
  const first = known[0];
  const summary =
    first === undefined || last === undefined
      ? "No night shows yet where the axis points."
      : known.length === 1
        ? `One night so far: the axis is ${sizeText(first.pole.distance)} from the pole.`
        : `In ${count(known.length, "night")} the axis came from ${arcminText(first.pole.distance.value)} to ${sizeText(last.pole.distance)} from the pole. The straight lines only join the nights.`;
  const drawn = {
    data: traces,
    layout: targetLayout(theme, "The axis on its way to the pole", reach),
    summary,
  };
  if (points.length < 2) return drawn;
  const way = walk(points).map(([x, y]) => ({
    ...placed([[x, y]]),
  }));
  return { ...drawn, motion: { trace: walker, places: way, button: "Let the axis walk" } };
}

/** Where the walker is, frame by frame: slow at both ends of a leg. */
function walk(points: readonly Point[]): Point[] {
  return points.slice(1).flatMap((to, index) => {
    const from = points[index]!;
    const leg = Array.from({ length: STEPS + 1 }, (_, step): Point => {
      const part = (1 - Math.cos((Math.PI * step) / STEPS)) / 2;
      return [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])];
    });
    return [...leg, ...Array.from({ length: REST }, () => to)];
  });
}

/** The points that may carry a word: the first, and each one that is far enough from all that do. */
function apart(points: readonly Point[], distance: number): ReadonlySet<number> {
  const named: number[] = [];
  points.forEach(([x, y], index) => {
    const isFree = named.every(
      (other) => Math.hypot(x - points[other]![0], y - points[other]![1]) > distance,
    );
    if (isFree) named.push(index);
  });
  return new Set(named);
}
