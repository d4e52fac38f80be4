import type { PoleError } from "../fit/fit-result.js";
import { count } from "../words/lists.js";
import { arcminText, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { axis, chartLayout, hoverText, outlined, rounded, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

/** One round of sighting: a fit serves as it is. */
export interface RoundPoint {
  readonly pole: Pick<PoleError, "altitude" | "east" | "distance">;
  /** What the round is called; `round 1` and so on when not given. */
  readonly label?: string;
  /** The axis error that the turns before this round should have left, arcminutes. */
  readonly predicted?: { readonly altitude: number; readonly east: number } | null;
}

const HEIGHT_PX = 480;
/** Nearer than this nothing is told apart, and the scale of ratios has no zero, arcminutes. */
const NEAREST_ARCMIN = 0.1;
/** What the scale beside the picture names, arcminutes. */
const TICKS_ARCMIN = [0.1, 0.3, 1, 3, 10, 30, 100, 300, 1000, 3000, 10000];

/**
 * How the polar axis comes nearer the pole round by round, with what each round's turns should have left. The scale is one
 * of ratios: each round as good as the one before goes down by the same way.
 *
 * @param rounds - in order; fits serve as they are
 * @param theme - the colours; light when not given
 * @param goodEnoughArcmin - from where on nothing need be turned, arcminutes; null where it is not known
 */
export function roundsConverging(
  rounds: readonly RoundPoint[],
  theme: Theme = lightTheme,
  goodEnoughArcmin: number | null = null,
): Figure {
  const { colours } = theme;
  const numbers = rounds.map((_, index) => index + 1);
  const found = rounds.map((round) => round.pole.distance);
  const labels = rounds.map((round, index) => round.label ?? `round ${index + 1}`);
  const height = (arcmin: number): number => rounded(Math.log10(Math.max(NEAREST_ARCMIN, arcmin)));
  const traces: Trace[] = [
    {
      ...traceOf.marks,
      mode: "lines+markers",
      name: "found, ± 2 uncertainties",
      x: numbers,
      y: found.map(({ value }) => height(value)),
      error_y: {
        type: "data",
        symmetric: false,
        array: found.map(({ value, uncertainty }) =>
          rounded(height(value + 2 * uncertainty) - height(value)),
        ),
        arrayminus: found.map(({ value, uncertainty }) =>
          rounded(height(value) - height(value - 2 * uncertainty)),
        ),
        color: colours.first,
        thickness: 2,
        width: 8,
      },
      line: { color: colours.first, width: 2 },
      marker: { symbol: "circle", size: 11, color: colours.first },
      hovertext: rounds.map((round, index) =>
        hoverText([labels[index]!, `${sizeText(round.pole.distance)} from the pole`]),
      ),
    },
  ];
  const predicted = rounds
    .map((round, index) => ({ number: index + 1, label: labels[index]!, predicted: round.predicted ?? null }))
    .filter((entry) => entry.predicted !== null);
  if (predicted.length > 0) {
    const sizes = predicted.map((entry) => Math.hypot(entry.predicted!.altitude, entry.predicted!.east));
    traces.push({
      ...traceOf.marks,
      name: "predicted from the turns",
      x: predicted.map((entry) => entry.number),
      y: sizes.map(height),
      marker: outlined("diamond-open", 15, colours.second, 2),
      hovertext: predicted.map((entry, index) =>
        hoverText([entry.label, `predicted ${arcminText(sizes[index]!)}`]),
      ),
    });
  }
  if (goodEnoughArcmin !== null) {
    traces.push({
      ...traceOf.lines,
      name: `good enough, ${arcminText(goodEnoughArcmin)}`,
      x: [0.6, Math.max(1, rounds.length) + 0.4],
      y: [height(goodEnoughArcmin), height(goodEnoughArcmin)],
      line: { color: colours.third, width: 2, dash: "dash" },
    });
  }
  const heights = [
    ...found.flatMap(({ value, uncertainty }) => [value - 2 * uncertainty, value + 2 * uncertainty]),
    ...(goodEnoughArcmin === null ? [] : [goodEnoughArcmin]),
  ]
    .filter(Number.isFinite)
    .map(height);
  const range = [Math.min(0, ...heights) - 0.08, Math.max(1, ...heights) + 0.08];
  const ticks = TICKS_ARCMIN.filter((arcmin) => height(arcmin) >= range[0]! && height(arcmin) <= range[1]!);
  const layout = chartLayout(theme, "The axis comes to the pole", HEIGHT_PX, -0.24, {
    xaxis: axis(theme, "round of sighting (number)", {
      range: [0.6, Math.max(1, rounds.length) + 0.4],
      tickvals: numbers,
      ticktext: labels.map((label) => hoverText([label])),
      zeroline: false,
    }),
    yaxis: axis(theme, "distance from the pole, ′", {
      range: range.map(rounded),
      tickvals: ticks.map(height),
      ticktext: ticks.map(String),
      zeroline: false,
    }),
  });
  const first = found[0];
  const last = found[found.length - 1];
  const summary =
    first === undefined || last === undefined
      ? "There are no rounds yet."
      : rounds.length === 1
        ? `One round so far: the axis is ${sizeText(first)} from the pole.`
        : `In ${count(rounds.length, "round")} the axis came from ${arcminText(first.value)} to ${sizeText(last)} from the pole.`;
  return { data: traces, layout, summary };
}
