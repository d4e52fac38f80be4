import type { PoleError } from "../fit/fit-result.js";
import { count } from "../words/lists.js";
import { arcminText, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  figure,
  hoverText,
  layoutFrame,
  legendBelow,
  niceAbove,
  rounded,
  type Trace,
} from "./drawing.js";
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

/**
 * How the polar axis comes nearer the pole round by round, with what each round's turns should have left.
 *
 * @param rounds - in order; fits serve as they are
 * @param theme - the colours; light when not given
 */
export function roundsConverging(rounds: readonly RoundPoint[], theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const numbers = rounds.map((_, index) => index + 1);
  const found = rounds.map((round) => round.pole.distance);
  const labels = rounds.map((round, index) => round.label ?? `round ${index + 1}`);
  const top = Math.max(
    1,
    ...found.map(({ value, uncertainty }) => value + 2 * uncertainty).filter(Number.isFinite),
  );
  const traces: Trace[] = [
    {
      type: "scatter",
      mode: "lines+markers",
      name: "found, ± 2 uncertainties",
      x: numbers,
      y: found.map(({ value }) => rounded(value)),
      error_y: {
        type: "data",
        array: found.map(({ uncertainty }) => rounded(2 * uncertainty)),
        color: colours.first,
        thickness: 2,
        width: 8,
      },
      line: { color: colours.first, width: 2 },
      marker: { symbol: "circle", size: 11, color: colours.first },
      hovertext: rounds.map((round, index) =>
        hoverText([labels[index]!, `${sizeText(round.pole.distance)} from the pole`]),
      ),
      hoverinfo: "text",
    },
  ];
  const predicted = rounds
    .map((round, index) => ({ number: index + 1, label: labels[index]!, predicted: round.predicted ?? null }))
    .filter((entry) => entry.predicted !== null);
  if (predicted.length > 0) {
    const sizes = predicted.map((entry) => Math.hypot(entry.predicted!.altitude, entry.predicted!.east));
    traces.push({
      type: "scatter",
      mode: "markers",
      name: "predicted from the turns",
      x: predicted.map((entry) => entry.number),
      y: sizes.map(rounded),
      marker: {
        symbol: "diamond-open",
        size: 15,
        color: colours.second,
        line: { color: colours.second, width: 2 },
      },
      hovertext: predicted.map((entry, index) =>
        hoverText([entry.label, `predicted ${arcminText(sizes[index]!)}`]),
      ),
      hoverinfo: "text",
    });
  }
  const reach = 1.1 * top;
  const layout = layoutFrame(theme, "The axis comes to the pole", HEIGHT_PX, {
    margin: { l: 64, r: 16, t: 12, b: 16 },
    legend: legendBelow(theme, -0.24),
    xaxis: axis(theme, "round of sighting (number)", {
      range: [0.6, Math.max(1, rounds.length) + 0.4],
      tickvals: numbers,
      ticktext: labels.map((label) => hoverText([label])),
      zeroline: false,
    }),
    yaxis: axis(theme, "distance from the pole, ′", {
      range: [rounded(-0.05 * reach), rounded(reach)],
      dtick: niceAbove(reach / 5),
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
  return figure(traces, layout, summary);
}
