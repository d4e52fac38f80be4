// A stand-in for the package, so that the kernel is tested without the rest of it.
export const HALF_TURN = Math.PI;

export class SightingError extends Error {
  constructor(code, message) {
    super(message);
    this.name = "SightingError";
    this.code = code;
  }
}

export function sight(star, hourAngle) {
  if (hourAngle < 0) throw new SightingError("hour-angle-range", `The reading of ${star} is below zero.`);
  return { star, hourAngle };
}

export function show(bundle) {
  globalThis[Symbol.for("polewright.display")](bundle);
}

export function inNotebook() {
  return process.env.POLEWRIGHT_NOTEBOOK === "1";
}
