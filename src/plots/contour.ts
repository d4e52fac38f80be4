/** Where a surface over the plane has one height, as short straight pieces. */
import type { Point } from "./drawing.js";

/** The corners of a square of the grid, in order round it. */
const CORNERS = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 1],
] as const;

/**
 * The pieces of the line on which a surface has a height, by straight lines through each square of a grid.
 *
 * @param xs - ascending
 * @param ys - ascending
 * @param heights - for each y and in it for each x; null where there is no surface
 * @param level - the height
 */
export function contourPieces(
  xs: readonly number[],
  ys: readonly number[],
  heights: readonly (readonly (number | null)[])[],
  level: number,
): Point[][] {
  const pieces: Point[][] = [];
  for (let row = 0; row + 1 < ys.length; row++) {
    for (let column = 0; column + 1 < xs.length; column++) {
      const corners = CORNERS.map(([right, up]) => ({
        point: [xs[column + right]!, ys[row + up]!] as Point,
        above: (heights[row + up]![column + right] ?? Number.NaN) - level,
      }));
      if (corners.some(({ above }) => Number.isNaN(above))) continue;
      const crossings = corners.flatMap((from, index): Point[] => {
        const to = corners[(index + 1) % CORNERS.length]!;
        if (from.above > 0 === to.above > 0) return [];
        const part = from.above / (from.above - to.above);
        return [
          [
            from.point[0] + part * (to.point[0] - from.point[0]),
            from.point[1] + part * (to.point[1] - from.point[1]),
          ],
        ];
      });
      for (let k = 0; k + 1 < crossings.length; k += 2) pieces.push([crossings[k]!, crossings[k + 1]!]);
    }
  }
  return pieces;
}
