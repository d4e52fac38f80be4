import { DEGREE } from "../angles.js";
import type { MountFit, Residual } from "../fit/fit-result.js";
import { arcminText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import {
  axis,
  joined,
  layoutFrame,
  legendBelow,
  niceAbove,
  outlined,
  type Point,
  rounded,
  type Trace,
  traceOf,
} from "./drawing.js";
import type { Figure } from "./figure.js";
import { pictured } from "./pictured.js";
import { sightingHover } from "./residual-sky.js";

const HEIGHT_PX = 640;

/**
 * The encoders' zeros sighting by sighting, against the first set of zeros: a step is where power was lost or a
 * clutch slipped.
 *
 * @param whole - a fit, with one set of zeros or several
 * @param theme - the colours; light when not given
 */
export function zeroJump(whole: MountFit, theme: Theme = lightTheme): Figure {
  const { fit, said } = pictured(whole);
  const { colours } = theme;
  const rows = fit.residuals.filter((residual) => residual.standing === "used");
  const axes = [
    {
      suffix: "",
      name: "hour angle",
      colour: colours.first,
      symbol: "circle",
      zeroOf: (r: Residual) => r.hourAngleZero ?? 0,
      // A westward offset on the sky is more of a turn of the axis the nearer the pole.
      residual: (r: Residual) => r.west / Math.max(0.05, Math.cos(r.declinationDeg * DEGREE)),
    },
    {
      suffix: "2",
      name: "declination",
      colour: colours.second,
      symbol: "square-open",
      zeroOf: (r: Residual) => r.declinationZero ?? 0,
      residual: (r: Residual) => r.north,
    },
  ];
  const traces: Trace[] = [];
  const ranges: [number, number][] = [];
  for (const entry of axes) {
    const base = rows[0] === undefined ? 0 : entry.zeroOf(rows[0]);
    const level = (residual: Residual): number => entry.zeroOf(residual) - base;
    const runs = runsOfZeros(rows);
    const lines = runs.map((run): Point[] => [
      [run[0]!.row - 0.45, level(run[0]!)],
      [run[run.length - 1]!.row + 0.45, level(run[0]!)],
    ]);
    const values = rows.map((residual) => level(residual) + entry.residual(residual));
    const low = Math.min(0, ...values);
    const high = Math.max(0, ...values);
    const pad = Math.max(1, 0.15 * (high - low));
    ranges.push([rounded(low - pad), rounded(high + pad)]);
    const onAxes = { xaxis: `x${entry.suffix}`, yaxis: `y${entry.suffix}` };
    traces.push(
      {
        ...traceOf.bareLines,
        name: `${entry.name} zero`,
        ...joined(lines),
        line: { color: colours.text, width: 3 },
        ...onAxes,
      },
      {
        ...traceOf.marks,
        name: `${entry.name}, each sighting`,
        x: rows.map((residual) => residual.row),
        y: values.map(rounded),
        marker: outlined(entry.symbol, 10, entry.colour, 2),
        hovertext: rows.map((residual) => sightingHover(residual, fit)),
        ...onAxes,
      },
    );
  }
  const last = Math.max(1, ...rows.map((residual) => residual.row));
  const across = { range: [0.3, last + 0.7], zeroline: false, dtick: Math.max(1, niceAbove(last / 12)) };
  const vertical = (range: readonly [number, number] | undefined) => ({
    range: [...(range ?? [-1, 1])],
    dtick: niceAbove(((range?.[1] ?? 1) - (range?.[0] ?? -1)) / 5),
  });
  const layout = layoutFrame(theme, `The encoder zeros of ${fit.mount.name} through the night`, HEIGHT_PX, {
    margin: { l: 72, r: 16, t: 12, b: 16 },
    legend: legendBelow(theme, -0.14),
    xaxis: axis(theme, "row of the night file", { ...across, anchor: "y" }),
    yaxis: axis(theme, "hour angle, ′", { ...vertical(ranges[0]), domain: [0.58, 1], anchor: "x" }),
    xaxis2: axis(theme, "row of the night file", { ...across, anchor: "y2" }),
    yaxis2: axis(theme, "declination, ′", { ...vertical(ranges[1]), domain: [0, 0.42], anchor: "x2" }),
  });
  return { data: traces, layout, summary: `${summaryText(rows)}${said}` };
}

/** Rows one after another with the same zeros, whether the night file declares them or the fit found them. */
function runsOfZeros(rows: readonly Residual[]): Residual[][] {
  const runs: Residual[][] = [];
  for (const residual of rows) {
    const run = runs[runs.length - 1];
    if (run !== undefined && sameZeros(run[0]!, residual)) {
      run.push(residual);
    } else {
      runs.push([residual]);
    }
  }
  return runs;
}

function sameZeros(a: Residual, b: Residual): boolean {
  return a.hourAngleZero === b.hourAngleZero && a.declinationZero === b.declinationZero;
}

function summaryText(rows: readonly Residual[]): string {
  const runs = runsOfZeros(rows);
  if (runs.length < 2) {
    return "The zeros stood still through the night: the scatter is that of the sightings.";
  }
  const jumps = runs.slice(1).map((run, index) => {
    const before = runs[index]!;
    const dh = (run[0]!.hourAngleZero ?? 0) - (before[0]!.hourAngleZero ?? 0);
    const dd = (run[0]!.declinationZero ?? 0) - (before[0]!.declinationZero ?? 0);
    return `between rows ${before[before.length - 1]!.row} and ${run[0]!.row} by ${jumpText(dh)} in hour angle and ${jumpText(dd)} in declination`;
  });
  return `The zeros jumped ${jumps.join("; ")}.`;
}

function jumpText(arcmin: number): string {
  return arcminText(arcmin, Math.abs(arcmin) < 120 ? 1 : 0, true);
}
