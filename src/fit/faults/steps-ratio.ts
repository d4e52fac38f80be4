/**
 * How far an encoder's steps a turn are from the mount file's, whatever the ratio: encoders on rollers and belts turn many
 * times for one turn of the axis, and that figure is measured, or guessed.
 */
import { DEGREE, wrapHalfTurn } from "../../angles.js";
import { type Bench, benchFor } from "../bench.js";
import { layOut } from "../columns.js";
import { fitCore } from "../core-fit.js";
import { coreCost, type RefinedStart, type RoughStart, refineStart, roughStarts } from "../rough-start.js";
import { type Fault, storyOf } from "../story.js";

/** Two sightings tell a ratio where the axis turned at least so far between them. */
const LEAST_TURN = 15 * DEGREE;
/** Nearer to the file's figure than this the scale of the reading is a term of the model. */
const NEAR = 0.015;
/** The median of many pairs is right to about six hundredths, whatever the axis's errors: so far it is searched around. */
const STEP = 0.01;
const STEPS_AROUND = 6;
const PAIRS = 8;
/** Sightings whose pairs are taken. */
const MOST = 60;
const DRAWN_IN = 3;

type Axis = "hourAngle" | "declination";

/** The median of what the sky turned over what the readings say, over all pairs that turned far enough. */
function medianRatio({ night }: Bench, axis: Axis): number | null {
  const [sky, readings, has] =
    axis === "hourAngle"
      ? [night.hourAngle, night.readingHourAngle, night.hasHourAngle]
      : [night.declination, night.readingDeclination, night.hasDeclination];
  const rows = night.sightings.flatMap((sighting, i) => (sighting.use && has[i] ? [i] : []));
  const stride = Math.max(1, Math.floor(rows.length / MOST));
  const some = rows.filter((_, k) => k % stride === 0);
  const ratios: number[] = [];
  for (const [k, a] of some.entries())
    for (const b of some.slice(k + 1)) {
      if (night.sightings[a]!.zeroSet !== night.sightings[b]!.zeroSet) continue;
      if (night.sightings[a]!.side !== night.sightings[b]!.side) continue;
      const turned = wrapHalfTurn(sky[b]! - sky[a]!);
      const read = readings[b]! - readings[a]!;
      if (Math.abs(turned) >= LEAST_TURN && read !== 0) ratios.push(turned / read);
    }
  if (ratios.length < PAIRS) return null;
  return ratios.sort((x, y) => x - y)[ratios.length >> 1]!;
}

/** Whether a ratio is none of those given, nor nearly so. */
const isAnother = (ratio: number, known: readonly number[]): boolean =>
  known.every((one) => Math.sign(one) !== Math.sign(ratio) || Math.abs(Math.log(ratio / one)) > NEAR);

/**
 * Stories with an encoder of any number of steps a turn, refined.
 *
 * @param circumstances - faults that stand already
 * @param known - ratios that others try
 */
export function stepsRatios(
  root: Bench,
  circumstances: readonly Fault[],
  known: readonly number[],
): RefinedStart[] {
  return (["hourAngle", "declination"] as const).flatMap((axis) => {
    const { as, perTurn } = root.night.mount.readings[axis];
    const median = as === "counts" ? medianRatio(root, axis) : null;
    if (median === null || !isAnother(median, known)) return [];
    const faultsWith = (factor: number): Fault[] => [...circumstances, { kind: "setting", axis, factor }];
    const roughWith = (factor: number): RoughStart | undefined =>
      roughStarts(root, faultsWith(factor), PAIRS, 1)[0];
    const around = Array.from(
      { length: 2 * STEPS_AROUND + 1 },
      (_, k) => median * (1 + (k - STEPS_AROUND) * STEP),
    );
    const [best] = around
      .map((factor) => ({ factor, rough: roughWith(factor) }))
      .sort((a, b) => (a.rough?.disagreement ?? Infinity) - (b.rough?.disagreement ?? Infinity));
    const drawn = best?.rough === undefined ? null : drawIn(root, faultsWith, best.factor, best.rough);
    if (drawn === null) return [];
    // Whole steps.
    const whole = Math.sign(drawn) * (perTurn / Math.round(perTurn / Math.abs(drawn)));
    const rough = roughWith(whole);
    const refined = rough === undefined ? null : refineStart(root, rough);
    return refined === null ? [] : [refined];
  });
}

/** The factor at which the core fits best, by parabolas through three costs, each narrower than the one before. */
function drawIn(
  root: Bench,
  faultsWith: (factor: number) => Fault[],
  from: number,
  rough: RoughStart,
): number | null {
  const start = refineStart(root, rough);
  if (start === null) return null;
  const others = start.faults.filter(({ kind }) => kind === "excluded");
  const cost = (factor: number): number => {
    const story = storyOf(root.night, [...faultsWith(factor), ...others]);
    const bench = benchFor(root, story);
    const layout = layOut(bench, story);
    return coreCost(fitCore(bench, story, layout, start.start), story);
  };
  let factor = from;
  for (let round = 0, width = STEP; round < DRAWN_IN; round++, width /= 4) {
    const [low, middle, high] = [
      cost(factor * (1 - width)),
      cost(factor),
      cost(factor * (1 + width)),
    ] as const;
    const bend = low + high - 2 * middle;
    if (!(bend > 0)) continue;
    factor *= 1 + width * Math.max(-1, Math.min(1, (low - high) / (2 * bend)));
  }
  return factor;
}
