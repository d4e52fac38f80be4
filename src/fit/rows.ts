/**
 * A story's sightings as rows: reading minus model on the sky, in units of the expected error, and the slopes by every
 * column.
 */
import { wrapHalfTurn } from "../angles.js";
import { CONE, DECLINATION_ZERO, HOUR_ANGLE_ZERO, type ModelDirection } from "../mount/model.js";
import { type Bench, putDirection, usedPlaces } from "./bench.js";
import { type Layout, ownCoefficients } from "./columns.js";
import type { LeastSquaresProblem } from "./least-squares.js";
import { readingsOf, type Story, type StoryReadings } from "./story.js";

/** The rows of one story. The least-squares problem is that of the core columns, the others standing where they are. */
export interface Rows extends LeastSquaresProblem {
  readonly layout: Layout;
  readonly readings: StoryReadings;
  /** Indices of the sightings that are used. */
  readonly usedRows: Int32Array;
  /**
   * Compares one sighting, used or not, with the model.
   *
   * @param parameters - one value a column, radians
   * @param out - receives ΔH (wrapped), ΔD (reading minus model, radians; NaN where not read) and |cos D| of the mount
   * @param partials - when given, `2 × columns` places: ∂(row)/∂(column) of its two weighted rows
   * @param seen - another direction than the sighting's own, radians: what if it had been that star?
   * @returns false where the sighting has no zero of its own to be compared with
   */
  compare(
    parameters: Float64Array,
    sighting: number,
    out: Float64Array,
    partials?: Float64Array,
    seen?: ModelDirection,
  ): boolean;
}

/**
 * Sets up the rows of a story.
 *
 * @param others - values of all columns, for those that the least-squares problem leaves alone
 * @param chosen - indices of the sightings to use, when not all that the story uses
 */
export function rowsOf(
  bench: Bench,
  story: Story,
  layout: Layout,
  others: Float64Array,
  chosen: Int32Array = usedPlaces(story),
): Rows {
  const { night, model, stances, directions } = bench;
  const { columns, common, core } = layout;
  const all = columns.length;
  const coefficients = new Float64Array(model.size);
  const modelOut = new Float64Array(2);
  const modelPartials = new Float64Array(2 * model.size);
  const pairs = common.length;
  const hourAngleFitted = columns.some(({ place }) => place === HOUR_ANGLE_ZERO);
  const declinationFitted = columns.some(({ place }) => place === DECLINATION_ZERO);
  const readings = readingsOf(story, night);
  const stance = { beyond: false, hourAngleApproach: 0, declinationApproach: 0, progress: 0 };
  // Held columns and free ones alike: where nothing is known the row weighs nothing but keeps the problem whole.
  const priors = columns.slice(0, core);

  /** The unknowns that all sightings share: to be called before {@link compareRow} with other parameters. */
  function share(parameters: Float64Array): void {
    for (let k = 0; k < pairs; k += 2) coefficients[common[k]!] = parameters[common[k + 1]!]!;
  }

  function compareRow(
    parameters: Float64Array,
    i: number,
    out: Float64Array,
    partials: Float64Array | undefined,
    at: number,
    width: number,
    wanted: number,
    vectors: Float64Array,
    vectorAt: number,
  ): boolean {
    const zeroH = layout.hourAngleZero[i]!;
    const zeroD = layout.declinationZero[i]!;
    const coneColumn = layout.cone[i]!;
    ownCoefficients(layout, parameters, i, coefficients);
    const given = stances[i]!;
    stance.beyond = given.beyond;
    stance.hourAngleApproach = given.hourAngleApproach;
    stance.declinationApproach = given.declinationApproach;
    stance.progress = layout.progress[i]!;
    model.forwardVector(
      coefficients,
      vectors[vectorAt]!,
      vectors[vectorAt + 1]!,
      vectors[vectorAt + 2]!,
      stance,
      modelOut,
      partials ? modelPartials : undefined,
    );
    const axisD = modelOut[1]! - coefficients[DECLINATION_ZERO]!;
    const signedCosD = Math.cos(axisD);
    const cosD = Math.abs(signedCosD);
    const hasH = readings.hasHourAngle[i] === 1;
    const hasD = readings.hasDeclination[i] === 1;
    out[0] = hasH
      ? wrapHalfTurn(readings.hourAngle[i]! * readings.hourAngleFactor - modelOut[0]!)
      : Number.NaN;
    out[1] = hasD
      ? wrapHalfTurn(readings.declination[i]! * readings.declinationFactor - modelOut[1]!)
      : Number.NaN;
    out[2] = cosD;
    if (partials) {
      const west = hasH ? -cosD / night.sigmaWest[i]! : 0;
      const north = hasD ? -1 / night.sigmaNorth[i]! : 0;
      // The cosine in the first row moves with D as well.
      const sinD = signedCosD < 0 ? -Math.sin(axisD) : Math.sin(axisD);
      const lean = hasH ? (-out[0]! * sinD) / night.sigmaWest[i]! : 0;
      const second = at + width;
      for (let j = 0; j < wanted; j++) {
        partials[at + j] = 0;
        partials[second + j] = 0;
      }
      for (let k = 0; k < pairs; k += 2) {
        const column = common[k + 1]!;
        if (column >= wanted) continue;
        const place = common[k]!;
        const onD = modelPartials[model.size + place]!;
        partials[at + column] = west * modelPartials[place]! + lean * onD;
        partials[second + column] = north * onD;
      }
      if (zeroH >= 0) partials[at + zeroH] = west;
      if (zeroD >= 0) partials[second + zeroD] = north;
      if (coneColumn >= 0) {
        const onD = modelPartials[model.size + CONE]!;
        partials[at + coneColumn] = west * modelPartials[CONE]! + lean * onD;
        partials[second + coneColumn] = north * onD;
      }
    }
    return (zeroH >= 0 || !hourAngleFitted || !hasH) && (zeroD >= 0 || !declinationFitted || !hasD);
  }

  const difference = new Float64Array(3);
  const values = Float64Array.from(others);

  return {
    size: core,
    rows: 2 * chosen.length + core,
    layout,
    readings,
    usedRows: chosen,
    evaluate(parameters, first, count, block, partials) {
      const sightingRows = 2 * chosen.length;
      const width = core + 1;
      values.set(parameters);
      share(values);
      for (let at = 0, row = first; row < first + count; ) {
        const start = at * width;
        if (row < sightingRows) {
          const i = chosen[row >> 1]!;
          compareRow(
            values,
            i,
            difference,
            partials ? block : undefined,
            start,
            width,
            core,
            directions,
            3 * i,
          );
          // A reading that is missing says nothing.
          block[start + core] = read(difference[0]!) * (difference[2]! / night.sigmaWest[i]!);
          block[start + width + core] = read(difference[1]!) / night.sigmaNorth[i]!;
          at += 2;
          row += 2;
        } else {
          const column = row - sightingRows;
          const { width: sigma } = priors[column]!;
          if (partials) {
            for (let j = 0; j < core; j++) block[start + j] = 0;
            block[start + column] = 1 / sigma;
          }
          block[start + core] = parameters[column]! / sigma;
          at++;
          row++;
        }
      }
    },
    compare(parameters, sighting, out, partials, seen) {
      share(parameters);
      if (seen === undefined)
        return compareRow(parameters, sighting, out, partials, 0, all, all, directions, 3 * sighting);
      const other = new Float64Array(3);
      putDirection(other, 0, seen.hourAngle, seen.declination);
      return compareRow(parameters, sighting, out, partials, 0, all, all, other, 0);
    },
  };
}

/** A difference, or 0 where the axis was not read. */
export function read(difference: number): number {
  return Number.isNaN(difference) ? 0 : difference;
}
