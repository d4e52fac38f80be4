/** How truly the axis follows what is asked of it. */
import type { Estimate } from "../fit/fit-result.js";
import type { Amount, AxisName, Way } from "./adjusters/adjuster.js";
import { type BaseMotion, sumOfMotions } from "./axis-motion.js";

/**
 * For each axis and means: the change found for one asked for; a means that is not named is as `gainBefore`. A thread
 * off its pitch or a floor that gives makes it other than 1.
 */
export type Gains = Readonly<Record<AxisName, Readonly<Record<string, Estimate>>>>;

/** What is known of a gain before anything has been turned: 1 ± 0.2. */
export const gainBefore: Estimate = { value: 1, uncertainty: 0.2 };

/** Nothing learned yet. */
export const gainsBefore: Gains = { altitude: {}, east: {} };

/** The gain of one way. */
export function gainOf(gains: Gains, way: { readonly axis: AxisName; readonly by: string }): Estimate {
  return gains[way.axis][way.by] ?? gainBefore;
}

/** The motion that is to be expected of the amounts asked for: what a star showed is as it was seen. */
export function expectedMotion(
  { amounts, ways }: { readonly amounts: readonly Amount[]; readonly ways: readonly Way[] },
  gains: Gains,
): BaseMotion {
  return sumOfMotions(
    amounts.flatMap((amount) =>
      ways
        .filter((way) => way.axis === amount.axis && way.by === amount.by)
        .map((way) => way.motion(amount.amount * (amount.seen ? 1 : gainOf(gains, way).value))),
    ),
  );
}
