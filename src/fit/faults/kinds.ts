/** Every kind of mistake that a night may hold. */
import type { Bench } from "../bench.js";
import { skyPrice, zeroPrice } from "../circumstances.js";
import type { Outcome } from "../outcome.js";
import type { Fault } from "../story.js";
import { clock, site } from "./clock.js";
import { clockStep } from "./clock-step.js";
import { excluded } from "./excluded.js";
import type { FaultKind } from "./fault-kind.js";
import { jump } from "./jump.js";
import { exchangedColumns, setting } from "./settings.js";

/** Any kind, its own form of a fault forgotten. */
export type AnyKind = FaultKind<Fault["kind"]>;

const list = [
  setting,
  exchangedColumns,
  clock,
  site,
  clockStep,
  excluded,
  jump,
] as unknown as readonly AnyKind[];

/** Those that are asked after every step of a search: one fit tells what they propose. */
export const nearKinds: readonly AnyKind[] = list.filter(
  ({ kind }) => kind === "excluded" || kind === "jump" || kind === "clock-step",
);
/** Those that are asked when no near one helps any more. */
export const farKinds: readonly AnyKind[] = list.filter((kind) => !nearKinds.includes(kind));
export const allKinds: readonly AnyKind[] = list;

export function kindOf(fault: Fault): AnyKind {
  return list.find(({ kind }) => kind === fault.kind)!;
}

/** The price of a whole story: its rows, its faults, what horizon and Sun say, and where its zeros stand. */
export function priceOfStory(outcome: Outcome, root: Bench): number {
  let price = outcome.rowsPrice + skyPrice(outcome.bench.night, outcome.story) + zeroPrice(outcome);
  for (const fault of outcome.story.faults) price += kindOf(fault).price(fault, outcome, root);
  return price;
}
