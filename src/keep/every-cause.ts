/**
 * Nights as they are held against each other. Each may prefer another cause for one thing, an eccentric encoder here and a scale
 * there, and so be sure of what it says; with every cause at work all say what they truly know.
 */
import type { EveryCause } from "../fit/fit-result.js";
import type { TermName } from "../mount/terms.js";

/** What is of one night only, and no property of the mount. */
export const OF_ONE_NIGHT: ReadonlySet<TermName> = new Set<TermName>([
  "hourAngleCreep",
  "declinationCreep",
  "polarAltitudeRate",
  "polarEastRate",
]);

/** Whether a model has its terms with every cause at work. */
export function hasEveryCause<
  T extends { readonly everyCause?: EveryCause | null; readonly terms: readonly unknown[] },
>(model: T): model is T & { readonly everyCause: EveryCause } {
  const { everyCause, terms } = model;
  return everyCause !== undefined && everyCause !== null && everyCause.values.length === terms.length;
}

/** The model with the values, uncertainties and covariance that it has with every cause at work. */
export function withEveryCause<
  T extends {
    readonly everyCause?: EveryCause | null;
    readonly terms: readonly { readonly value: number; readonly uncertainty: number }[];
    readonly covariance: readonly (readonly number[])[];
  },
>(model: T & { readonly everyCause: EveryCause }): T {
  const { everyCause, terms } = model;
  return {
    ...model,
    terms: terms.map((term, i) => ({
      ...term,
      value: everyCause.values[i]!,
      uncertainty: Math.sqrt(Math.max(0, everyCause.covariance[i]![i]!)),
    })),
    covariance: everyCause.covariance,
  };
}
