/**
 * A procedure at the mount: what to do, what to write down, and what follows from it.
 */
import { type Fault, InputError, shown } from "../errors.js";
import type { Estimate } from "../fit/fit-result.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Mount } from "../mount/mount.js";

/** What is written down: numbers by their names. */
export type WrittenDown = Readonly<Record<string, readonly number[]>>;

/** One thing to write down. */
interface ToWrite {
  readonly meaning: string;
  /** Taken where it is not written; null where it must be. */
  readonly usual: number | null;
  /** Several numbers are meant. */
  readonly several?: boolean;
  /** What a number may be. */
  readonly from: number;
  readonly to: number;
}

/** Something that follows. */
export interface Followed extends Estimate {
  readonly name: string;
  readonly unit: string;
}

/** What a procedure found. */
export interface ProcedureResult {
  readonly sentence: string;
  readonly found: readonly Followed[];
  /** What to do with it, for instance what to write into the mount file. */
  readonly next: readonly string[];
  /** Points and lines of its picture, millimetres or readings as the axes say. */
  readonly picture: ProcedurePicture | null;
}

/** A plain picture: points with names, joined or not. */
export interface ProcedurePicture {
  readonly x: string;
  readonly y: string;
  readonly lines: readonly {
    readonly name: string;
    readonly joined: boolean;
    readonly points: readonly (readonly [number, number])[];
  }[];
  readonly summary: string;
  /** Both ways on one scale, as things lie; not given: each on its own. */
  readonly toScale?: true;
}

/** A procedure. */
export interface Procedure {
  readonly name: string;
  readonly title: string;
  readonly steps: readonly string[];
  readonly write: Readonly<Record<string, ToWrite>>;
  readonly cautions: readonly string[];
  /** @throws {@link InputError} where what was written cannot be used */
  work(written: WrittenDown, mount: Mount): ProcedureResult;
}

/**
 * Checks what was written down and fills in what is usual.
 *
 * @throws {@link InputError} `unknown-value`, `missing-value`, `out-of-range`, every fault at once
 */
export function checkedWritten(procedure: Procedure, written: WrittenDown): WrittenDown {
  const names = Object.keys(procedure.write);
  const faults: Fault[] = [];
  for (const name of Object.keys(written)) {
    if (names.includes(name)) continue;
    const near = didYouMean(name, names);
    faults.push({
      code: "unknown-value",
      path: name,
      found: shown(name),
      allowed: names.join(", "),
      message: `This procedure has no such value.${near === null ? "" : ` Did you mean ${near}?`}`,
    });
  }
  const full: Record<string, readonly number[]> = {};
  for (const [name, { usual, several, from, to, meaning }] of Object.entries(procedure.write)) {
    const values = written[name] ?? (usual === null ? [] : [usual]);
    const allowed = `${meaning}; ${several ? "numbers" : "a number"} from ${from} to ${to}`;
    if (values.length === 0)
      faults.push({ code: "missing-value", path: name, allowed, message: "This is missing." });
    else if (!several && values.length > 1)
      faults.push({
        code: "too-many-values",
        path: name,
        found: values.join(", "),
        allowed,
        message: "One number is meant here.",
      });
    for (const value of values) {
      if (value >= from && value <= to) continue;
      faults.push({
        code: "out-of-range",
        path: name,
        found: String(value),
        allowed,
        message: "This number is out of its range.",
      });
    }
    full[name] = values;
  }
  if (faults.length > 0) throw new InputError(faults);
  return full;
}
