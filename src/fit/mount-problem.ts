/**
 * The mount's model and a night's sightings as rows of a least-squares problem.
 */
import { DEGREE, wrapHalfTurn } from "../angles.js";
import { compileCustomTerm } from "../mount/custom-term.js";
import {
  CONE,
  type CustomEffect,
  DECLINATION_ZERO,
  HOUR_ANGLE_ZERO,
  type ModelDirection,
  type MountModel,
  mountModel,
  type Stance,
} from "../mount/model.js";
import type { Mount } from "../mount/mount.js";
import type { ReducedNight } from "../night/reduce.js";
import type { Sighting } from "../night/sighting.js";
import { type Explanation, readingsUnder } from "./explanation.js";
import { declaredSets, type Layout, type LayoutNight, ownCoefficients } from "./layout.js";
import type { LeastSquaresProblem } from "./least-squares.js";

/** The rigorous model of a mount, its own terms compiled. */
export function modelOfMount(mount: Mount): MountModel {
  const custom: CustomEffect[] = mount.customTerms.map((term, k) =>
    compileCustomTerm(term, `customTerms[${k}]`),
  );
  return mountModel(mount.site.latitude * DEGREE, custom);
}

/** The few stances that there are, so that a season's sightings share them. */
const STANCES: readonly Stance[] = [false, true].flatMap((beyond) =>
  [-1, 0, 1].flatMap((hourAngleApproach) =>
    [-1, 0, 1].map((declinationApproach) => ({ beyond, hourAngleApproach, declinationApproach })),
  ),
);

export function stanceOf(sighting: Sighting): Stance {
  const side = sighting.side === "beyond" ? 1 : 0;
  const approaches = 3 * ((sighting.hourAngleApproach ?? 0) + 1) + (sighting.declinationApproach ?? 0) + 1;
  return STANCES[9 * side + approaches]!;
}

/** What a night's rows need besides an explanation; made once a night. */
export interface Workbench extends LayoutNight {
  readonly model: MountModel;
  readonly stances: readonly Stance[];
  /** Unit vectors of the observed directions in the hour-angle frame, three places a sighting. */
  readonly directions: Float64Array;
}

export function workbench(night: ReducedNight): Workbench {
  const directions = new Float64Array(3 * night.count);
  for (let i = 0; i < night.count; i++)
    putDirection(directions, 3 * i, night.hourAngle[i]!, night.declination[i]!);
  return {
    night,
    model: modelOfMount(night.mount),
    stances: night.sightings.map(stanceOf),
    directions,
    zeroSets: declaredSets(night, "zeroSet"),
    tubeSets: declaredSets(night, "tubeSet"),
  };
}

function putDirection(into: Float64Array, at: number, hourAngle: number, declination: number): void {
  const cosDeclination = Math.cos(declination);
  into[at] = cosDeclination * Math.cos(hourAngle);
  into[at + 1] = -cosDeclination * Math.sin(hourAngle);
  into[at + 2] = Math.sin(declination);
}

/** The rows of one explanation, and the comparison of a single sighting with the model. */
export interface MountProblem extends LeastSquaresProblem {
  readonly layout: Layout;
  /** Indices of the sightings that are used. */
  readonly usedRows: Int32Array;
  /**
   * Compares one sighting, used or not, with the model.
   *
   * @param out - receives ΔH (wrapped), ΔD (reading minus model, radians) and |cos D| of the mount
   * @param partials - when given, `2 × size` places: ∂(row)/∂(unknown) of its two weighted rows
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
 * Sets up the rows.
 *
 * @param chosen - indices of the sightings to use, when not all that the explanation uses
 */
export function mountProblem(
  bench: Workbench,
  explanation: Explanation,
  layout: Layout,
  chosen?: Int32Array,
): MountProblem {
  const { night, model, stances, directions } = bench;
  const size = layout.unknowns.length;
  const usedRows = chosen ?? placesOf(explanation.used);
  const priorColumns: number[] = [];
  layout.unknowns.forEach((unknown, j) => {
    if (unknown.prior !== null) priorColumns.push(j);
  });
  const coefficients = new Float64Array(model.size);
  const readings = new Float64Array(2);
  const modelPartials = new Float64Array(2 * model.size);
  const { common } = layout;
  const pairs = common.length;
  const hourAngleFitted = layout.unknowns.some((unknown) => unknown.index === HOUR_ANGLE_ZERO);
  const declinationFitted = layout.unknowns.some((unknown) => unknown.index === DECLINATION_ZERO);
  const read = readingsUnder(explanation, night);

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
    vectors: Float64Array,
    vectorAt: number,
  ): boolean {
    const zeroH = layout.hourAngleZero[i]!;
    const zeroD = layout.declinationZero[i]!;
    const coneColumn = layout.cone[i]!;
    ownCoefficients(layout, parameters, i, coefficients);
    const wanted = partials ? modelPartials : undefined;
    model.forwardVector(
      coefficients,
      vectors[vectorAt]!,
      vectors[vectorAt + 1]!,
      vectors[vectorAt + 2]!,
      stances[i]!,
      readings,
      wanted,
    );
    const axisD = readings[1]! - coefficients[DECLINATION_ZERO]!;
    const signedCosD = Math.cos(axisD);
    const cosD = Math.abs(signedCosD);
    out[0] = wrapHalfTurn(read.hourAngle[i]! * read.hourAngleFactor - readings[0]!);
    out[1] = wrapHalfTurn(read.declination[i]! * read.declinationFactor - readings[1]!);
    out[2] = cosD;
    if (partials) {
      const west = -cosD / night.sigmaWest[i]!;
      const north = -1 / night.sigmaNorth[i]!;
      // The cosine in the first row moves with D as well.
      const sinD = signedCosD < 0 ? -Math.sin(axisD) : Math.sin(axisD);
      const lean = (-out[0] * sinD) / night.sigmaWest[i]!;
      const second = at + width;
      for (let j = 0; j < size; j++) {
        partials[at + j] = 0;
        partials[second + j] = 0;
      }
      for (let k = 0; k < pairs; k += 2) {
        const index = common[k]!;
        const column = common[k + 1]!;
        const onD = modelPartials[model.size + index]!;
        partials[at + column] = west * modelPartials[index]! + lean * onD;
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
    return (zeroH >= 0 || !hourAngleFitted) && (zeroD >= 0 || !declinationFitted);
  }

  const difference = new Float64Array(3);
  const width = size + 1;

  function evaluate(
    parameters: Float64Array,
    first: number,
    count: number,
    block: Float64Array,
    partials: boolean,
  ): void {
    const sightingRows = 2 * usedRows.length;
    share(parameters);
    for (let at = 0, row = first; row < first + count; ) {
      if (row < sightingRows) {
        const i = usedRows[row >> 1]!;
        const slopes = partials ? block : undefined;
        compareRow(parameters, i, difference, slopes, at * width, width, directions, 3 * i);
        block[at * width + size] = (difference[0]! * difference[2]!) / night.sigmaWest[i]!;
        block[(at + 1) * width + size] = difference[1]! / night.sigmaNorth[i]!;
        at += 2;
        row += 2;
      } else {
        const column = priorColumns[row - sightingRows]!;
        const sigma = layout.unknowns[column]!.prior!;
        const start = at * width;
        if (partials) {
          for (let j = 0; j < size; j++) block[start + j] = 0;
          block[start + column] = 1 / sigma;
        }
        block[start + size] = parameters[column]! / sigma;
        at++;
        row++;
      }
    }
  }

  return {
    size,
    rows: 2 * usedRows.length + priorColumns.length,
    layout,
    usedRows,
    evaluate,
    compare(parameters, sighting, out, partials, seen) {
      share(parameters);
      if (seen === undefined)
        return compareRow(parameters, sighting, out, partials, 0, size, directions, 3 * sighting);
      const other = new Float64Array(3);
      putDirection(other, 0, seen.hourAngle, seen.declination);
      return compareRow(parameters, sighting, out, partials, 0, size, other, 0);
    },
  };
}

function placesOf(flags: Uint8Array): Int32Array {
  let count = 0;
  for (let i = 0; i < flags.length; i++) count += flags[i]!;
  const places = new Int32Array(count);
  for (let i = 0, k = 0; i < flags.length; i++) if (flags[i]) places[k++] = i;
  return places;
}
