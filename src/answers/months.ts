/** How a mount changes over kept nights. */
import { type KeptModel, parseKeptModel } from "../keep/keep.js";
import { type Months, months as plainMonths } from "../months/months.js";
import type { Mount } from "../mount/mount.js";
import { monthsReport } from "../report/months-report.js";
import { question } from "./answer.js";
import { printable } from "./printable.js";
import { places, text } from "./takes.js";

/**
 * How a mount's terms change over kept nights: trend, what a kelvin does, jumps, and when to look again. As a cell's last
 * expression it prints as its report.
 *
 * @param kept - three kept models or more, in any order
 * @param mount - the mount file of today
 * @throws InputError `few-nights`, `same-night-twice`, `night-without-time`, `model-of-other-mount`
 * @example
 * ```ts
 * months([march, april, june], mount).lookAgainWeeks;
 * ```
 */
export function months(kept: readonly KeptModel[], mount: Mount): Months {
  const result = plainMonths(kept, mount);
  return printable({ ...result }, () => monthsReport(result));
}

/** `polewright months KEPT.json…`. */
export const monthsOf = question({
  name: "months",
  asks: "how the terms change over kept nights, and when to look again",
  example:
    "polewright months kept-in-march.json kept-in-april.json kept-in-june.json --mount my-telescope/mount.json",
  takes: {
    kept: places("kept", "kept models (.json), three or more", true),
    mount: text("file", "the mount file (default: mount.json beside the first)"),
  },
  ask({ kept, mount: mountPath }, read) {
    const models = kept.map((path) => parseKeptModel(read.text(path, "kept model"), path));
    return plainMonths(models, read.mount(mountPath, kept[0]));
  },
  say: (result) => [monthsReport(result)],
  draw: async (result) => (await import("../plots/months.js")).monthsFigures(result),
  json: (result) => ({ ...result }),
});
