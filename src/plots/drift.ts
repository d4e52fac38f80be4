import type { DriftComparison } from "../drift/compare.js";
import type { DriftResult } from "../drift/drift.js";
import type { PoleError } from "../fit/fit-result.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { fixed, sizeText } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { markTraces, reachOf, targetLayout, targetTraces } from "./axis-pointing.js";
import { hoverText, joined, type Point, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";

/** A line of a single drift is drawn no further than this from its neighbours' middle, parts of the target's reach. */
const LINE_REACH = 2;

/**
 * Where the polar axis points by drift, on a target with the pole in the middle: each drift allows a line of axis directions,
 * and where the lines meet the axis is. The sightings' fit stands beside it where there is one.
 *
 * @param result - from {@link solveDrift}
 * @param sightings - the axis by the sightings' fit; null without one
 * @param comparison - from {@link compareDrift}, for the words
 * @param mountName - for the title
 * @param theme - the colours; light when not given
 */
export function driftAxis(
  result: DriftResult,
  sightings: PoleError | null,
  comparison: DriftComparison | null,
  mountName: string,
  theme: Theme = lightTheme,
): Figure {
  const told = result.tells === "both errors";
  const poles = [...(told ? [result.pole] : []), ...(sightings === null ? [] : [sightings])];
  const nearest: Point = [result.best.east * result.best.value, result.best.altitude * result.best.value];
  const reach = reachOf(poles, told ? [] : [nearest]);
  const traces: Trace[] = [...targetTraces(theme, reach), ...driftLines(result, reach, theme)];
  if (told) {
    traces.push(...markTraces(theme, result.pole, "by drift"));
  }
  if (sightings !== null) {
    traces.push(...markTraces(theme, sightings, "by sightings", "second"));
  }
  const { pole } = result;
  const where = told
    ? `By drift the axis points ${sizeText(pole.altitude)} ${highOrLow(pole.altitude.value)} and ${sizeText(pole.east)} ${eastOrWest(pole.east.value)}.`
    : "The drifts measure one combination of the two errors only: the axis lies somewhere along the line.";
  const against =
    comparison === null
      ? ""
      : ` They ${comparison.agrees ? "agree" : "disagree"} with the sightings: ${fixed(comparison.sigmas, 1)} σ.`;
  return {
    data: traces,
    layout: targetLayout(theme, `The polar axis of ${mountName} by drift`, reach),
    summary: `${where}${against} Each dotted line holds the axis directions that one star's drift allows.`,
  };
}

/** For each drift the axis directions that it allows: with the sags and the air as found. */
function driftLines(result: DriftResult, reach: number, theme: Theme): Trace[] {
  const elevated = result.latitudeDeg >= 0 ? 1 : -1;
  const lines: Point[][] = [];
  const middles: Point[] = [];
  const hovers: string[] = [];
  for (const residual of result.residuals) {
    if (residual.north === null) continue;
    // Over the whole drift the star moves by Ω t about the middle of its way: −σ (altitude sin h + east cos h) Ω t.
    const turn = (residual.minutes * 2 * Math.PI) / 1436.07;
    const middle = (residual.place.hourAngleDeg * Math.PI) / 180 + turn / 2;
    const axisPart = residual.north.axis + residual.north.residual;
    const offset = axisPart / 60 / (-elevated * 2 * Math.sin(turn / 2));
    const [along, across]: [Point, Point] = [
      [Math.cos(middle), Math.sin(middle)],
      [-Math.sin(middle), Math.cos(middle)],
    ];
    const at = (distance: number): Point => [
      along[0] * offset + across[0] * distance,
      along[1] * offset + across[1] * distance,
    ];
    // The part of the line nearest to what was found, cut at the target's rim.
    const centre = across[0] * result.pole.east.value + across[1] * result.pole.altitude.value;
    const from = Math.abs(centre) < LINE_REACH * reach ? centre : 0;
    const cut = clipped(at(from - 2 * LINE_REACH * reach), at(from + 2 * LINE_REACH * reach), reach);
    if (cut === null) continue;
    lines.push(cut);
    middles.push([(cut[0]![0] + cut[1]![0]) / 2, (cut[0]![1] + cut[1]![1]) / 2]);
    hovers.push(
      hoverText([
        `drift ${residual.row}: ${residual.label}`,
        `${fixed(residual.north.seen, 1)}″ northward in ${fixed(residual.minutes, 1)} min`,
        `left over ${fixed(residual.north.residual, 1)}″`,
      ]),
    );
  }
  if (lines.length === 0) return [];
  const colour = theme.colours.third;
  return [
    {
      ...traceOf.lines,
      name: "what each drift allows",
      ...joined(lines),
      line: { color: colour, width: 2, dash: "dot" },
    },
    {
      ...traceOf.marks,
      ...joined(middles.map((point) => [point])),
      // A gap stands between points as between lines.
      marker: { symbol: "square", size: 8, color: colour },
      hovertext: hovers.flatMap((text, k) => (k === 0 ? [text] : ["", text])),
      showlegend: false,
    },
  ];
}

/** The part of a line inside a square about the middle, or null. */
function clipped(from: Point, to: Point, reach: number): Point[] | null {
  let [start, end] = [0, 1];
  for (const axis of [0, 1] as const) {
    const way = to[axis] - from[axis];
    for (const side of [-1, 1]) {
      // Inside where side · (from + t way) ≤ reach.
      const room = reach - side * from[axis];
      const speed = side * way;
      if (speed === 0) {
        if (room < 0) return null;
      } else if (speed > 0) end = Math.min(end, room / speed);
      else start = Math.max(start, room / speed);
    }
  }
  if (start >= end) return null;
  const at = (t: number): Point => [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])];
  return [at(start), at(end)];
}
