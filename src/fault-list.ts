import { type Fault, InputError } from "./errors.js";

/** As many faults as a message lists; a file with more is most likely not what its name says. */
const LISTED_FAULTS = 50;

/** Collects faults until the input has been read, so that all are reported at once; only the first fifty are kept. */
export class FaultList {
  readonly #faults: Fault[] = [];
  #count = 0;

  /** How many faults were found, the unlisted ones too. */
  get count(): number {
    return this.#count;
  }

  /** Adds faults. */
  add(...faults: readonly Fault[]): void {
    this.#count += faults.length;
    for (const fault of faults) if (this.#faults.length < LISTED_FAULTS) this.#faults.push(fault);
  }

  /** The faults kept, and as the last one how many more there are. */
  listed(file?: string): readonly Fault[] {
    const more = this.#count - this.#faults.length;
    if (more === 0) return this.#faults;
    return [
      ...this.#faults,
      {
        code: "more-faults",
        ...(file === undefined ? {} : { file }),
        allowed: "a file without faults; mend these first, or check that it is the right file",
        message: `${more} more ${more === 1 ? "fault is" : "faults are"} not listed.`,
      },
    ];
  }

  /** Throws what was collected, if anything. */
  throwIfAny(file?: string): void {
    if (this.#count > 0) throw new InputError(this.listed(file));
  }
}
