/**
 * The plane through a base's jacks, and how far a foot stands out of it.
 */
import { Matrix, pseudoInverse, SingularValueDecomposition } from "#matrices";
import type { Jack } from "../mount/mount.js";

/** A plane z = mean + slopeEast · x + slopeNorth · y, counted from the middle of the jacks; millimetres and slopes. */
interface Plane {
  readonly mean: number;
  readonly slopeEast: number;
  readonly slopeNorth: number;
}

/** A set of jacks that can carry a plane. */
export interface JackFrame {
  /** Each jack's place from the middle of all, millimetres. */
  readonly places: readonly { readonly east: number; readonly north: number }[];
  /** Slope towards the east for one millimetre at each jack. */
  readonly slopeEastPerMm: readonly number[];
  /** Slope towards the north for one millimetre at each jack. */
  readonly slopeNorthPerMm: readonly number[];
  /** For each foot, how far it comes out of the plane of the others for one millimetre at each jack. */
  readonly outOfPlanePerMm: readonly (readonly number[])[];
  /** Jacks' extent from south to north and from west to east, millimetres. */
  readonly northExtent: number;
  readonly eastExtent: number;
  /** The plane nearest to the given rises (least squares: a frame that gives equally everywhere). */
  planeOf(rises: readonly number[]): Plane;
  /** The rises that put the base on a plane. */
  risesOf(plane: Plane): number[];
  /**
   * The most that a foot is out of the plane of the others, millimetres. For four jacks at the corners of a rectangle
   * this is |NE − NW + SW − SE|; for three it is zero.
   */
  warpOf(rises: readonly number[]): number;
}

/** Smallest relative singular value at which three feet still count as spread out in two directions. */
const FLAT = 1e-6;
/** A foot with more of the plane than this in its own hands has no others to be held against. */
const OWN_SHARE = 1 - 1e-9;

/**
 * @param jacks - the jacks at their places in plan
 * @returns the frame, or null when the jacks are fewer than three or stand in one line, and carry no plane
 */
export function jackFrame(jacks: readonly Jack[]): JackFrame | null {
  if (jacks.length < 3) return null;
  const meanEast = jacks.reduce((sum, jack) => sum + jack.eastMm, 0) / jacks.length;
  const meanNorth = jacks.reduce((sum, jack) => sum + jack.northMm, 0) / jacks.length;
  const places = jacks.map((jack) => ({ east: jack.eastMm - meanEast, north: jack.northMm - meanNorth }));
  const size = Math.max(...places.map((place) => Math.hypot(place.east, place.north)));
  if (!(size > 0)) return null;
  const design = new Matrix(places.map((place) => [1, place.east / size, place.north / size]));
  const singular = new SingularValueDecomposition(design).diagonal;
  if (Math.min(...singular) < FLAT * Math.max(...singular)) return null;
  const toPlane = pseudoInverse(design);
  const share = design.mmul(toPlane);
  const slopeEastPerMm = places.map((_, index) => toPlane.get(1, index) / size);
  const slopeNorthPerMm = places.map((_, index) => toPlane.get(2, index) / size);
  const outOfPlane = places.map((_, foot) => {
    const own = share.get(foot, foot);
    return places.map((__, index) =>
      own > OWN_SHARE ? 0 : ((index === foot ? 1 : 0) - share.get(foot, index)) / (1 - own),
    );
  });
  const sum = (weights: readonly number[], rises: readonly number[]): number => {
    let total = 0;
    for (let index = 0; index < weights.length; index++) total += weights[index]! * rises[index]!;
    return total;
  };
  const extent = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  return {
    places,
    slopeEastPerMm,
    slopeNorthPerMm,
    outOfPlanePerMm: outOfPlane,
    northExtent: extent(places.map((place) => place.north)),
    eastExtent: extent(places.map((place) => place.east)),
    planeOf: (rises) => ({
      mean: rises.reduce((total, rise) => total + rise, 0) / rises.length,
      slopeEast: sum(slopeEastPerMm, rises),
      slopeNorth: sum(slopeNorthPerMm, rises),
    }),
    risesOf: (plane) =>
      places.map((place) => plane.mean + plane.slopeEast * place.east + plane.slopeNorth * place.north),
    warpOf: (rises) => {
      if (rises.length === 3) return 0;
      let most = 0;
      for (const weights of outOfPlane) most = Math.max(most, Math.abs(sum(weights, rises)));
      return most;
    },
  };
}
