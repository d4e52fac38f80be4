import type { MountFit } from "../fit/fit-result.js";

/** More stars than this run into each other, and a page that draws them all does not open on a telephone. */
const MOST_PICTURED = 2000;

/** The fit with as many residuals as a picture can hold, spread evenly over the night, and what to say of it. */
export function pictured(fit: MountFit): { readonly fit: MountFit; readonly said: string } {
  const all = fit.residuals.length;
  if (all <= MOST_PICTURED) return { fit, said: "" };
  const residuals = Array.from(
    { length: MOST_PICTURED },
    (_, n) => fit.residuals[Math.floor((n * all) / MOST_PICTURED)]!,
  );
  return {
    fit: { ...fit, residuals },
    said: ` Drawn are ${MOST_PICTURED} of the ${all} sightings, spread evenly over the night.`,
  };
}
