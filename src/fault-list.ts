import { type Fault, InputError } from "./errors.js";

/** As many faults as a message lists; a file with more is most likely not what its name says. */
const LISTED_FAULTS = 50;
/** After so many faults reading on would tell nothing new. */
const HOPELESS_FAULTS = 1000;

/** Collects faults until the input has been read, so that all are reported at once; only the first fifty are kept. */
export class FaultList {
  readonly #faults: Fault[] = [];
  #count = 0;

  /** How many faults were found, the unlisted ones too. */
  get count(): number {
    return this.#count;
  }

  /** Whether there are so many faults that reading may stop. */
  get hopeless(): boolean {
    return this.#count >= HOPELESS_FAULTS;
  }

  /** Adds a fault; a function is called only if the fault will be listed, for faults that cost time to word. */
  add(fault: Fault | (() => Fault)): void {
    this.#count += 1;
    if (this.#faults.length < LISTED_FAULTS) this.#faults.push(typeof fault === "function" ? fault() : fault);
  }

  /** The faults kept, and as the last one how many more there are. */
  listed(file?: string): readonly Fault[] {
    const more = this.#count - this.#faults.length;
    if (more === 0) return this.#faults;
    const many = this.hopeless ? `At least ${more}` : `${more}`;
    return [
      ...this.#faults,
      {
        code: "more-faults",
        ...(file === undefined ? {} : { file }),
        allowed: "a file without faults; correct these first, or check that it is the right file",
        message: `${many} more ${more === 1 ? "fault is" : "faults are"} not listed.`,
      },
    ];
  }

  /** Throws what was collected, if anything. */
  throwIfAny(file?: string): void {
    if (this.#count > 0) throw new InputError(this.listed(file));
  }
}
