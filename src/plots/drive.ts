import type { DriveResult } from "../drive/drive-result.js";
import { SMEAR_SECONDS } from "../drive/drive-smear.js";
import { count } from "../words/lists.js";
import { fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  chartLayout,
  hoverText,
  joined,
  niceAbove,
  type Point,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";

const HEIGHT_PX = 440;

/** Steps that make a gap. */
const GAP = 6;

/** Points of a course without its gaps: a line for each stretch between them. */
function stretches(seconds: readonly number[], values: readonly (number | null)[]): Point[][] {
  const lines: Point[][] = [[]];
  // A pause several times as long as the usual step is a gap.
  const steps = seconds.slice(1).map((at, i) => at - seconds[i]!);
  const usual = [...steps].sort((a, b) => a - b)[steps.length >> 1] ?? 0;
  seconds.forEach((at, i) => {
    const value = values[i];
    const isGap = i > 0 && at - seconds[i - 1]! > GAP * usual;
    if ((value === null || value === undefined || isGap) && lines.at(-1)!.length > 0) lines.push([]);
    if (value !== null && value !== undefined) lines.at(-1)!.push([at / 60, value]);
  });
  return lines.filter((line) => line.length > 0);
}

/**
 * One way of a star's course with the fit, west or north, on a scale of its own.
 *
 * @param result - from {@link drive}
 * @param way - which way
 * @param theme - the colours; light when not given
 */
export function driveCourse(result: DriveResult, way: "west" | "north", theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const { course } = result;
  const seen = way === "west" ? course.west : course.north;
  const fit = way === "west" ? course.fitWest : course.fitNorth;
  const places = seen.flatMap((value, i) => (value === null ? [] : [i]));
  const traces: Trace[] = [
    {
      ...traceOf.marks,
      name: "seen",
      x: places.map((i) => rounded(course.seconds[i]! / 60)),
      y: places.map((i) => rounded(seen[i]!)),
      marker: { symbol: "circle", size: 5, color: colours.first },
      hovertext: places.map((i) =>
        hoverText([
          `${fixed(course.seconds[i]! / 60, 2)} min`,
          `${signed(seen[i]!, 1)}″ ${way}`,
          fit[i] == null ? "left out of the fit" : `fit ${signed(fit[i]!, 1)}″`,
        ]),
      ),
    },
    {
      ...traceOf.lines,
      name: "fit",
      ...joined(stretches(course.seconds, fit)),
      line: { color: colours.second, width: 2 },
    },
  ];
  if (way === "west" && result.periodic.some((one) => one.seen)) {
    traces.push({
      ...traceOf.lines,
      name: "without the periodic error",
      ...joined(stretches(course.seconds, course.steadyWest)),
      line: { color: colours.third, width: 2, dash: "dash" },
    });
  }
  const layout = chartLayout(theme, `${result.stars.join(", ")}: the course ${way}`, HEIGHT_PX, -0.22, {
    xaxis: axis(theme, "minutes since the course began", {
      zeroline: false,
      range: paddedRange(course.seconds.map((at) => at / 60)),
    }),
    yaxis: axis(theme, way === "west" ? "← east   ″   west →" : "← south   ″   north →", {
      range: paddedRange([...seen, ...fit].filter((value) => value !== null && value !== undefined)),
    }),
  });
  const noise = way === "west" ? result.noise.west : result.noise.north;
  const scatter = noise === null ? "" : ` Each moment scatters by ${fixed(noise.scatterArcsec, 1)}″.`;
  const summary =
    places.length === 0
      ? `The course has no way ${way}.`
      : `How far the star stood ${way} of where it was set, over ${fixed(result.spanMinutes, 0)} minutes.${scatter}`;
  return { data: traces, layout, summary };
}

function paddedRange(values: readonly number[]): [number, number] {
  if (values.length === 0) return [0, 1];
  const low = values.reduce((a, b) => Math.min(a, b));
  const high = values.reduce((a, b) => Math.max(a, b));
  const pad = 0.06 * Math.max(high - low, 1e-6);
  return [rounded(low - pad), rounded(high + pad)];
}

const PERIOD_TICKS = [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];

/**
 * Which periods the course holds: the height of each against the chance of a false alarm, and where the parts' periods lie.
 *
 * @param result - from {@link drive}, with a westward way
 * @param theme - the colours; light when not given
 */
export function drivePeriods(result: DriveResult, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const points = (result.periodogram?.points ?? []).filter((point) => point.frequency > 0);
  const periods = points.map((point) => Math.log10(1 / point.frequency));
  const powers = points.map((point) => point.power);
  const limit = result.periodogram?.power1Percent ?? 0;
  const top = 1.15 * powers.reduce((a, b) => Math.max(a, b), 1.5 * limit);
  const from = periods.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const to = periods.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const traces: Trace[] = [
    {
      type: "scatter",
      mode: "lines",
      name: "how strongly each period shows",
      x: periods.map(rounded),
      y: powers.map(rounded),
      line: { color: colours.first, width: 2 },
      hovertext: points.map((point) =>
        hoverText([`${fixed(1 / point.frequency, 1)} s`, `strength ${fixed(point.power, 1)}`]),
      ),
      hoverinfo: "text",
    },
    {
      ...traceOf.lines,
      name: "noise alone reaches this once in 100 courses",
      x: [rounded(from), rounded(to)],
      y: [rounded(limit), rounded(limit)],
      line: { color: colours.second, width: 2, dash: "dash" },
    },
  ];
  const dashes = ["dot", "dashdot", "longdash"] as const;
  result.parts
    .filter((part) => Math.log10(part.periodS) >= from && Math.log10(part.periodS) <= to)
    .forEach((part, k) => {
      traces.push({
        ...traceOf.lines,
        name: `${part.name}: ${fixed(part.periodS, part.periodS < 100 ? 1 : 0)} s`,
        x: [rounded(Math.log10(part.periodS)), rounded(Math.log10(part.periodS))],
        y: [0, rounded(top)],
        line: { color: colours.third, width: 2, dash: dashes[k % dashes.length]! },
      });
    });
  const ticks = PERIOD_TICKS.filter((value) => Math.log10(value) >= from && Math.log10(value) <= to);
  const layout = chartLayout(
    theme,
    `Which periods the drive of ${result.mountName} shows`,
    HEIGHT_PX,
    -0.22,
    {
      xaxis: axis(theme, "period, s", {
        range: points.length === 0 ? [1, 4] : [rounded(from), rounded(to)],
        tickvals: ticks.map((value) => rounded(Math.log10(value))),
        ticktext: ticks.map(String),
        zeroline: false,
      }),
      yaxis: axis(theme, "strength (half the χ² it explains)", { range: [0, rounded(top)] }),
    },
  );
  const seen = result.periodic.filter((one) => one.seen);
  const summary =
    seen.length === 0
      ? "No period stands out of the noise."
      : `${count(seen.length, "period")} ${seen.length === 1 ? "stands" : "stand"} out: ${seen.map((one) => `${fixed(one.periodS, 0)} s${one.part === null ? "" : ` (${one.part})`}`).join(", ")}.`;
  return { data: traces, layout, summary };
}

/**
 * What the drive smears against the length of an exposure, with the rate as it is and with the rate corrected.
 *
 * @param result - from {@link drive}, with a westward way
 * @param theme - the colours; light when not given
 */
export function driveSmearFigure(result: DriveResult, theme: Theme = lightTheme): Figure {
  const { colours } = theme;
  const limit = result.longest?.limitArcsec ?? 0;
  // What is far above the limit no longer matters; the axis of lengths is stretched as shutters are.
  const shown = result.smear.filter((one) => one.periodicArcsec <= 6 * limit || one.seconds <= 60);
  const x = shown.map((one) => Math.log10(one.seconds));
  const top = niceAbove(
    Math.min(
      6 * limit,
      Math.max(1.3 * limit, ...shown.map((one) => Math.max(one.arcsec, one.periodicArcsec))),
    ),
  );
  const clipped = (value: number): number => Math.min(value, 1.2 * top);
  const line = (
    name: string,
    of: (one: (typeof shown)[number]) => number,
    colour: string,
    symbol: string,
  ): Trace => ({
    ...traceOf.marks,
    mode: "lines+markers",
    name,
    x: x.map(rounded),
    y: shown.map((one) => rounded(clipped(of(one)))),
    line: { color: colour, width: 2 },
    marker: { symbol, size: 9, color: colour },
    hovertext: shown.map((one) => hoverText([`${one.seconds} s`, `${fixed(of(one), 1)}″`])),
  });
  const traces: Trace[] = [
    line("the rate as it is", (one) => one.arcsec, colours.first, "circle"),
    line("the rate corrected", (one) => one.periodicArcsec, colours.third, "diamond"),
    {
      ...traceOf.lines,
      name: `allowed: ${fixed(limit, 1)}″`,
      x: [0, rounded(x.at(-1) ?? 1)],
      y: [rounded(limit), rounded(limit)],
      line: { color: colours.second, width: 2, dash: "dash" },
    },
  ];
  const ticks = SMEAR_SECONDS.filter((seconds) => [1, 2, 5, 10, 30, 60, 300, 600, 3600].includes(seconds));
  const layout = chartLayout(theme, `What the drive of ${result.mountName} smears`, HEIGHT_PX, -0.22, {
    xaxis: axis(theme, "exposure, s", {
      range: [-0.05, rounded((x.at(-1) ?? 1) + 0.05)],
      tickvals: ticks.map((value) => rounded(Math.log10(value))),
      ticktext: ticks.map(String),
      zeroline: false,
    }),
    yaxis: axis(theme, "smear on the equator, ″", { range: [0, rounded(top)] }),
  });
  const longest = result.longest;
  const summary =
    longest === null
      ? "The course says nothing of the drive."
      : `At the worst beginning a star on the equator is smeared by ${fixed(limit, 1)}″ in ${fixed(longest.asItIsS, 0)} s; with the rate corrected in ${fixed(longest.rateCorrectedS, 0)} s.`;
  return { data: traces, layout, summary };
}

/** The pictures of a drive, those that it has. */
export function driveFigures(result: DriveResult, theme: Theme = lightTheme): Figure[] {
  const has = (values: readonly (number | null)[]): boolean => values.some((value) => value !== null);
  return [
    ...(has(result.course.west) ? [driveCourse(result, "west", theme)] : []),
    ...(has(result.course.north) ? [driveCourse(result, "north", theme)] : []),
    ...(result.periodogram === null ? [] : [drivePeriods(result, theme), driveSmearFigure(result, theme)]),
  ];
}
