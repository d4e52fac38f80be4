/**
 * The rows of a story from which the smooth residue of each axis is told: a row each, or, on long nights, cells of the sky
 * whose rows count as one of their joint weight. The same wherever the story is linearised.
 */
import { type Bench, usedPlaces } from "./bench.js";
import { type FieldSpectrum, fieldSpectrum } from "./residue.js";
import { readingsOf, type Story } from "./story.js";

/** One axis's rows and cells. */
export interface ResidueRows {
  readonly hourAngle: boolean;
  /** The sighting of each row. */
  readonly sightings: Int32Array;
  /** For each sighting its place among the rows, or among the cells. */
  readonly placeOf: Int32Array;
  /** How many rows or cells there are. */
  readonly count: number;
  /** In cells: the root of each one's joint squared weight; null where each row stands for itself. */
  readonly cellWeights: Float64Array | null;
  /** Null where there is no residue. */
  readonly spectrum: FieldSpectrum | null;
}

/** From this many rows an axis on, the field is told from cells. */
const MANY_ROWS = 600;
/** The side of a cell: the field hardly changes over it. */
const CELL = 0.1;

type BothAxes = readonly [ResidueRows, ResidueRows];
/** Of a night the last: stories that differ by jumps or settings have the same. */
const last = new WeakMap<Bench, { readonly story: Story; readonly axes: BothAxes }>();

/**
 * Both axes of a story.
 *
 * @param told - false where the mount file says that there is no residue
 */
export function residueRowsOf(bench: Bench, story: Story, told: boolean): BothAxes {
  let known = last.get(bench);
  if (known === undefined || !haveSameRows(known.story, story)) {
    known = { story, axes: madeRows(bench, story, told) };
    last.set(bench, known);
  }
  return known.axes;
}

function haveSameRows(a: Story, b: Story): boolean {
  return a.exchanged === b.exchanged && a.used.every((flag, i) => flag === b.used[i]);
}

function madeRows(bench: Bench, story: Story, told: boolean): BothAxes {
  const used = usedPlaces(story);
  const { hasHourAngle, hasDeclination } = readingsOf(story, bench.night);
  const { sigmaWest, sigmaNorth } = bench.night;
  const axes = [
    { sightings: used.filter((i) => hasHourAngle[i] === 1), sigma: sigmaWest, hourAngle: true },
    { sightings: used.filter((i) => hasDeclination[i] === 1), sigma: sigmaNorth, hourAngle: false },
  ] as const;
  const many = axes.some(({ sightings }) => sightings.length > MANY_ROWS);
  return axes.map(({ sightings, sigma, hourAngle }): ResidueRows => {
    if (!told || sightings.length === 0) {
      const placeOf = new Int32Array(0);
      return { hourAngle, sightings, placeOf, count: 0, cellWeights: null, spectrum: null };
    }
    const { placeOf, count, directions, weight } = many
      ? cells(bench, sightings, sigma)
      : single(bench, sightings, sigma);
    const spectrum = fieldSpectrum({ count, directions, weight, hourAngle });
    return { hourAngle, sightings, placeOf, count, cellWeights: many ? weight : null, spectrum };
  }) as unknown as BothAxes;
}

interface Places {
  readonly placeOf: Int32Array;
  readonly count: number;
  readonly directions: Float64Array;
  readonly weight: Float64Array;
}

function single({ night, directions }: Bench, sightings: Int32Array, sigma: Float64Array): Places {
  const count = sightings.length;
  const placeOf = new Int32Array(night.count).fill(-1);
  const own = new Float64Array(3 * count);
  sightings.forEach((i, place) => {
    placeOf[i] = place;
    own.set(directions.subarray(3 * i, 3 * i + 3), 3 * place);
  });
  return { placeOf, count, directions: own, weight: Float64Array.from(sightings, (i) => 1 / sigma[i]!) };
}

function cells({ night, directions }: Bench, sightings: Int32Array, sigma: Float64Array): Places {
  const placeOf = new Int32Array(night.count).fill(-1);
  const known = new Map<number, number>();
  const sums: number[] = [];
  for (const i of sightings) {
    const key =
      Math.round(night.hourAngle[i]! / CELL) * 1000 + Math.round((night.declination[i]! + 4) / CELL);
    let place = known.get(key);
    if (place === undefined) {
      place = known.size;
      known.set(key, place);
      sums.push(0, 0, 0, 0);
    }
    placeOf[i] = place;
    for (let k = 0; k < 3; k++) sums[4 * place + k]! += directions[3 * i + k]!;
    sums[4 * place + 3]! += 1 / sigma[i]! ** 2;
  }
  const count = known.size;
  const middles = new Float64Array(3 * count);
  const weight = new Float64Array(count);
  for (let place = 0; place < count; place++) {
    const [x, y, z, square] = sums.slice(4 * place, 4 * place + 4) as [number, number, number, number];
    const length = Math.hypot(x, y, z);
    middles.set([x / length, y / length, z / length], 3 * place);
    weight[place] = Math.sqrt(square);
  }
  return { placeOf, count, directions: middles, weight };
}
