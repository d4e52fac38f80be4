/** The procedures at the mount: what to do, what to write down, what follows. */
import { InputError, shown } from "../errors.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Mount } from "../mount/mount.js";
import {
  checkedWritten,
  type Procedure,
  type ProcedureResult,
  type WrittenDown,
} from "../procedures/procedure.js";
import { procedures } from "../procedures/procedures.js";
import { procedureReport, proceduresReport } from "../report/procedure-report.js";
import { question, WrongUsage } from "./answer.js";
import { printable } from "./printable.js";
import { places, text } from "./takes.js";

/**
 * What follows from what was written down at a procedure. As a cell's last expression it prints as its report.
 *
 * @param name - `encoder-turn`, `encoder-diameter`, `backlash`, `hysteresis`, `level`, `balance`, `north`
 * @param mount - the mount file
 * @param written - what was written down, each a number or several
 * @throws InputError `unknown-procedure`, `unknown-value`, `missing-value`, `out-of-range`
 * @example
 * ```ts
 * procedure("backlash", mount, { plus: [3121, 3122, 3121], minus: [3118, 3119, 3118] }).sentence;
 * ```
 */
export function procedure(
  name: string,
  mount: Mount,
  written: Readonly<Record<string, number | readonly number[]>>,
): ProcedureResult {
  const one = named(name);
  const lists = Object.fromEntries(
    Object.entries(written).map(([key, value]) => [key, typeof value === "number" ? [value] : value]),
  );
  const result = one.work(checkedWritten(one, lists), mount);
  return printable({ ...result }, () => procedureReport(one, result));
}

function named(name: string): Procedure {
  const found = procedures.find((one) => one.name === name);
  if (found !== undefined) return found;
  const names = procedures.map((one) => one.name);
  const near = didYouMean(name, names);
  throw new InputError({
    code: "unknown-procedure",
    found: shown(name),
    allowed: names.join(", "),
    message: `There is no such procedure.${near === null ? "" : ` Did you mean ${near}?`}`,
  });
}

/** `plus=3121,3122` as a name and its numbers. */
function writtenDown(words: readonly string[]): WrittenDown {
  return Object.fromEntries(
    words.map((word) => {
      const [name = "", values = ""] = word.split("=", 2);
      const numbers = values.split(",").map((part) => Number(part.trim().replace("−", "-")));
      if (values.trim() === "" || numbers.some((value) => !Number.isFinite(value))) {
        throw new InputError({
          code: "unreadable-value",
          path: name,
          found: shown(word),
          allowed: "a name, =, and numbers with commas between: plus=3121,3122,3121",
          message: "This is no value that can be read.",
        });
      }
      return [name, numbers];
    }),
  );
}

/** `polewright procedure NAME [VALUE…]`. */
export const procedureOf = question({
  name: "procedure",
  asks: "procedures at the mount: encoders, play, zeros by level, balance, north by a plumb line",
  example:
    "polewright procedure backlash plus=3121,3122,3121 minus=3118,3119,3118 --mount my-telescope/mount.json",
  takes: {
    words: places("name", "the procedure, then what was written down: NAME=NUMBER,NUMBER…"),
    mount: text("file", "the mount file (default: mount.json in this folder)"),
  },
  ask({ words, mount }, read) {
    const [name, ...values] = words;
    if (mount !== undefined && values.length === 0) {
      throw new WrongUsage("error: option --mount has an effect only with what was written down");
    }
    if (name === undefined) return { one: null, result: null };
    const one = named(name);
    if (values.length === 0) return { one, result: null };
    const written = checkedWritten(one, writtenDown(values));
    return { one, result: one.work(written, read.mount(mount)) };
  },
  say: ({ one, result }) => [one === null ? proceduresReport(procedures) : procedureReport(one, result)],
  draw: async ({ one, result }) =>
    one === null ? [] : (await import("../plots/procedure.js")).procedureFigures(one, result),
  json: ({ one, result }) =>
    one === null
      ? { procedures: procedures.map(({ name, title }) => ({ name, title })) }
      : {
          name: one.name,
          title: one.title,
          steps: one.steps,
          write: one.write,
          cautions: one.cautions,
          result,
        },
});
