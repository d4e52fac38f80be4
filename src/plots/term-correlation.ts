import type { MountFit, TermEstimate } from "../fit/fit-result.js";
import { correlationOf } from "../fit/separability.js";
import { fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  hoverText,
  joined,
  layoutFrame,
  legendBelow,
  type Point,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const MOST_PAIRS = 10;
const ROW_HEIGHT_PX = 52;
/** From here on two terms can hardly be distinguished. */
const HARDLY_SEPARABLE = 0.9;

/** Two terms and how far tonight's stars mix them up. */
export interface CorrelatedPair {
  readonly first: TermEstimate;
  readonly second: TermEstimate;
  /** −1 to 1. */
  readonly correlation: number;
}

/** Whether a term belongs to the model for certain, or its cause is likelier there than not. */
function isAtWork({ probability }: TermEstimate): boolean {
  return (probability ?? 1) >= 0.5;
}

/** Every pair of terms at work with its correlation, the strongest first. */
export function correlatedPairs(fit: MountFit): CorrelatedPair[] {
  const pairs: CorrelatedPair[] = [];
  fit.terms.forEach((second, j) => {
    fit.terms.slice(0, j).forEach((first, i) => {
      if (!isAtWork(first) || !isAtWork(second)) return;
      pairs.push({ first, second, correlation: correlationOf(fit.covariance, i, j) });
    });
  });
  return pairs.sort((a, b) => Math.abs(b.correlation) - Math.abs(a.correlation));
}

/**
 * Which terms tonight's stars mix up: the strongest correlations as bars from −1 to 1.
 *
 * @param fit - a fit
 * @param theme - the colours; light when not given
 */
export function termCorrelation(fit: MountFit, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const pairs = correlatedPairs(fit).slice(0, MOST_PAIRS);
  const rows = pairs.map((_, index) => pairs.length - index);
  const parts = [
    {
      name: "not yet distinguished",
      colour: colours.second,
      has: (value: number) => Math.abs(value) >= HARDLY_SEPARABLE,
    },
    {
      name: "distinguished",
      colour: colours.first,
      has: (value: number) => Math.abs(value) < HARDLY_SEPARABLE,
    },
  ];
  const traces: Trace[] = [];
  for (const part of parts) {
    const members = pairs
      .map((pair, index) => ({ pair, row: rows[index]! }))
      .filter(({ pair }) => part.has(pair.correlation));
    if (members.length === 0) continue;
    traces.push({
      type: "bar",
      orientation: "h",
      name: part.name,
      x: members.map(({ pair }) => rounded(pair.correlation)),
      y: members.map(({ row }) => row),
      width: 0.34,
      marker: { color: part.colour },
      hovertext: members.map(({ pair }) =>
        hoverText([
          `${labelOf(pair.first)} and ${labelOf(pair.second)}`,
          `correlation ${signed(pair.correlation, 2)}`,
        ]),
      ),
      hoverinfo: "text",
    });
  }
  traces.push({
    ...traceOf.bareLines,
    ...joined(
      rows.map((row): Point[] => [
        [0, row - 0.26],
        [0, row + 0.2],
      ]),
    ),
    line: { color: colours.text, width: 2 },
  });
  traces.push({
    ...traceOf.words,
    x: pairs.map(() => -1.04),
    textposition: "middle right",
    y: rows.map((row) => rounded(row + 0.36)),
    text: pairs.map((pair) =>
      hoverText([`${signed(pair.correlation, 2)}  ${labelOf(pair.first)} · ${labelOf(pair.second)}`]),
    ),
    textfont: { size: theme.fontSizePx - 1, color: colours.text },
  });
  const layout = layoutFrame(
    theme,
    "Terms that these stars mix up",
    150 + ROW_HEIGHT_PX * Math.max(1, pairs.length),
    {
      margin: { l: 24, r: 24, t: 12, b: 16 },
      barmode: "overlay",
      legend: legendBelow(theme, rounded(-70 / (50 + ROW_HEIGHT_PX * Math.max(1, pairs.length)))),
      xaxis: axis(theme, "correlation, −1 to 1 (no unit)", {
        range: [-1.05, 1.05],
        dtick: 0.5,
        zeroline: false,
        showgrid: false,
      }),
      yaxis: { visible: false, range: [0.4, Math.max(1, pairs.length) + 0.8], fixedrange: true },
    },
  );
  const worst = pairs[0];
  const summary =
    worst === undefined
      ? "There are too few terms to compare."
      : `The strongest: ${labelOf(worst.first)} and ${labelOf(worst.second)}, ${fixed(worst.correlation, 2)}. Near 1 or −1 the stars measure only a mixture of the two; stars elsewhere on the sky would distinguish them.`;
  return { data: traces, layout, summary };
}

function labelOf(term: TermEstimate): string {
  return term.set === null ? term.label : `${term.label} (${term.set})`;
}
