import type { Takes, ValuesOf } from "../answers/takes.js";

/** A command that does something instead of answering: it makes, runs or watches, and speaks as it goes. */
export interface Deed {
  readonly name: string;
  /** What it does, in one line without a full stop. */
  readonly asks: string;
  readonly example: string;
  readonly takes: Takes;
  run(values: Readonly<Record<string, unknown>>): Promise<void>;
}

/** Makes a deed of its description. */
export function deed<T extends Takes>(spec: {
  readonly name: string;
  readonly asks: string;
  readonly example: string;
  readonly takes: T;
  run(values: ValuesOf<T>): void | Promise<void>;
}): Deed {
  return { ...spec, run: async (values) => spec.run(values as ValuesOf<T>) };
}
