/**
 * The triangular factor of a tall matrix, kept while its rows stream by (Householder reflections on the factor and
 * a block of new rows: "tall and skinny QR", Demmel, Grigori, Hoemmen and Langou 2012). Memory does not grow with
 * the rows, and the normal equations, which square the condition number, are never formed.
 */

/** R of [A | b] = Q R, row by row. */
export class TriangularFactor {
  /** How many unknowns there are. */
  readonly size: number;
  /** The factor of [A | b], row-major, `size + 1` square. */
  readonly values: Float64Array;
  private readonly width: number;

  /** @param size - number of columns of A */
  constructor(size: number) {
    this.size = size;
    this.width = size + 1;
    this.values = new Float64Array(this.width * this.width);
  }

  /** Forgets all rows. */
  clear(): void {
    this.values.fill(0);
  }

  /**
   * Takes up a block of rows.
   *
   * @param block - row-major, each row `size` entries of A and one of b; overwritten
   * @param rows - how many rows of the block to use
   */
  append(block: Float64Array, rows: number): void {
    const { width, values } = this;
    for (let j = 0; j < width; j++) {
      let tail = 0;
      for (let i = 0, at = j; i < rows; i++, at += width) {
        const entry = block[at]!;
        tail += entry * entry;
      }
      if (tail === 0) continue;
      const corner = j * width + j;
      const head = values[corner]!;
      const norm = Math.sqrt(head * head + tail);
      const diagonal = head > 0 ? -norm : norm;
      const pivot = head - diagonal;
      // The reflection is I − u uᵀ β, u = (pivot, block column), β = 1 / (norm · |pivot|).
      const beta = 1 / (norm * Math.abs(pivot));
      values[corner] = diagonal;
      for (let k = j + 1; k < width; k++) {
        let product = pivot * values[j * width + k]!;
        for (let i = 0, at = 0; i < rows; i++, at += width) product += block[at + j]! * block[at + k]!;
        if (product === 0) continue;
        const amount = product * beta;
        values[j * width + k]! -= amount * pivot;
        for (let i = 0, at = 0; i < rows; i++, at += width) block[at + k]! -= amount * block[at + j]!;
      }
    }
  }

  /** The entry of R in row i and column j of A. */
  entry(i: number, j: number): number {
    return this.values[i * this.width + j]!;
  }

  /** Qᵀ b, its first `size` entries. */
  rightSide(i: number): number {
    return this.values[i * this.width + this.size]!;
  }

  /** Sum of squares that no choice of the unknowns takes away. */
  residualSquare(): number {
    return this.values[this.width * this.width - 1]! ** 2;
  }

  /** The length of each column of A. */
  columnLengths(): Float64Array {
    const lengths = new Float64Array(this.size);
    for (let j = 0; j < this.size; j++) {
      let sum = 0;
      for (let i = 0; i <= j; i++) sum += this.entry(i, j) ** 2;
      lengths[j] = Math.sqrt(sum);
    }
    return lengths;
  }

  /** Solves R x = y for the unknowns; `y` defaults to Qᵀ b. */
  solve(y?: Float64Array): Float64Array {
    const x = new Float64Array(this.size);
    for (let i = this.size - 1; i >= 0; i--) {
      let sum = y ? y[i]! : this.rightSide(i);
      for (let j = i + 1; j < this.size; j++) sum -= this.entry(i, j) * x[j]!;
      x[i] = sum / this.entry(i, i);
    }
    return x;
  }

  /** Solves Rᵀ z = y. */
  solveTransposed(y: Float64Array): Float64Array {
    const z = Float64Array.from(y);
    this.solveTransposedInPlace(z, 0);
    return z;
  }

  /** Solves Rᵀ z = y for the `size` values of an array from a place on, which receive the answer. */
  solveTransposedInPlace(y: Float64Array, at: number): void {
    const { size, width, values } = this;
    for (let i = 0; i < size; i++) {
      const z = y[at + i]! / values[i * width + i]!;
      y[at + i] = z;
      // Taken off what comes after, along a row of R.
      if (z !== 0) for (let j = i + 1; j < size; j++) y[at + j]! -= values[i * width + j]! * z;
    }
  }

  /** (AᵀA)⁻¹ = R⁻¹R⁻ᵀ, row-major. */
  inverseInformation(): Float64Array {
    const n = this.size;
    const inverse = new Float64Array(n * n);
    for (let j = 0; j < n; j++) {
      inverse[j * n + j] = 1 / this.entry(j, j);
      for (let i = j - 1; i >= 0; i--) {
        let sum = 0;
        for (let k = i + 1; k <= j; k++) sum -= this.entry(i, k) * inverse[k * n + j]!;
        inverse[i * n + j] = sum / this.entry(i, i);
      }
    }
    const covariance = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = i; j < n; j++) {
        let sum = 0;
        for (let k = j; k < n; k++) sum += inverse[i * n + k]! * inverse[j * n + k]!;
        covariance[i * n + j] = sum;
        covariance[j * n + i] = sum;
      }
    }
    return covariance;
  }
}
