import type { Months, TermMonths } from "../months/months.js";
import { fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { axis, chartLayout, hoverText, rounded, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 380;
const WEEK_MS = 7 * 86_400_000;
const MONTH_WEEKS = 30.4375 / 7;

/**
 * One term over the months: what each night's stars alone say, and the level, trend and jump found.
 *
 * @param months - from {@link months}
 * @param term - one of its terms
 * @param theme - the colours; light when not given
 */
export function monthsTerm(months: Months, term: TermMonths, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const lastMs = Date.parse(months.nights.at(-1)!);
  const weeks = months.nights.map((night) => (Date.parse(night) - lastMs) / WEEK_MS);
  const told = term.nights.flatMap((night, i) => (night === null ? [] : [i]));
  const label = term.label.charAt(0).toUpperCase() + term.label.slice(1);
  const per = term.unit === "arcmin" ? "′" : "′/rad";
  const jumpAt = term.changedAt === null ? null : months.nights.indexOf(term.changedAt);
  const lineAt = (i: number): number =>
    term.now.value +
    (term.perMonth * weeks[i]!) / MONTH_WEEKS -
    (jumpAt !== null && i < jumpAt ? term.changedBy!.value : 0);
  const traces: Trace[] = [
    {
      ...traceOf.marks,
      name: "each night's stars, ± 2 uncertainties",
      x: told.map((i) => rounded(weeks[i]!)),
      y: told.map((i) => rounded(term.nights[i]!.value)),
      error_y: {
        type: "data",
        array: told.map((i) => rounded(2 * term.nights[i]!.uncertainty)),
        color: colours.first,
        thickness: 2,
        width: 6,
      },
      marker: { symbol: "circle", size: 9, color: colours.first },
      hovertext: told.map((i) =>
        hoverText([
          months.nights[i]!.slice(0, 10),
          `${signed(term.nights[i]!.value, 1)}${per} ± ${fixed(term.nights[i]!.uncertainty, 1)}${per}`,
        ]),
      ),
    },
    {
      ...traceOf.lines,
      name: "level and trend",
      x: weeks.map(rounded),
      y: weeks.map((_, i) => rounded(lineAt(i))),
      line: { color: colours.second, width: 2 },
    },
  ];
  const values = [
    ...told.flatMap((i) => [
      term.nights[i]!.value - 2 * term.nights[i]!.uncertainty,
      term.nights[i]!.value + 2 * term.nights[i]!.uncertainty,
    ]),
    ...weeks.map((_, i) => lineAt(i)),
  ];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const pad = 0.08 * Math.max(high - low, 0.1);
  const layout = chartLayout(theme, `${label} over the months`, HEIGHT_PX, -0.24, {
    xaxis: axis(theme, "weeks before the last night", {
      range: [rounded(weeks[0]! * 1.03 - 0.2), rounded(-0.03 * weeks[0]! + 0.2)],
      zeroline: false,
    }),
    yaxis: axis(theme, `${term.label}, ${per}`, { range: [rounded(low - pad), rounded(high + pad)] }),
  });
  const jump =
    jumpAt === null
      ? ""
      : ` It jumped by ${signed(term.changedBy!.value, 1)}${per} before ${term.changedAt!.slice(0, 10)}.`;
  return {
    data: traces,
    layout,
    summary: `${label}: ${signed(term.perMonth, 2)}${per} ± ${fixed(term.uncertainty, 2)}${per} a month.${jump}`,
  };
}

/** The pictures of the terms that changed; where none did, of the one that comes nearest to it. */
export function monthsFigures(months: Months, theme: Theme = lightTheme): Figure[] {
  const told = months.terms.filter((term) => term.verdict !== "not told");
  const changed = told.filter((term) => term.verdict !== "steady");
  const trend = (term: TermMonths): number => Math.abs(term.perMonth / term.uncertainty);
  const nearest = [...told].sort((a, b) => trend(b) - trend(a)).slice(0, 1);
  return (changed.length > 0 ? changed : nearest).map((term) => monthsTerm(months, term, theme));
}
