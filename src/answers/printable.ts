import type { Report } from "../report/report.js";
import { reportText } from "../report/text.js";

/** Under this key a result keeps how it reports itself. */
const REPORT = Symbol.for("polewright.report");
/** Under this key Node looks for how a value prints (Node.js documentation, util.inspect.custom). */
const INSPECT = Symbol.for("nodejs.util.inspect.custom");

/**
 * Makes a result print as its report when it is a cell's last expression or is logged, and lets `show` render it. The
 * result itself stays plain data: what is added is not enumerated, copied or written as JSON.
 *
 * @param result - a result object, not frozen
 * @param report - how it reports itself: a report, or plain text
 * @returns the same object
 */
export function printable<T extends object>(result: T, report: () => Report | string): T {
  Object.defineProperty(result, REPORT, { value: report, enumerable: false, configurable: true });
  Object.defineProperty(result, INSPECT, {
    value: () => {
      const made = report();
      return typeof made === "string" ? made : reportText(made).trimEnd();
    },
    enumerable: false,
    configurable: true,
  });
  return result;
}

/** How a result reports itself, or null where it does not. */
export function ownReport(thing: unknown): Report | string | null {
  if (thing === null || typeof thing !== "object") return null;
  const report = (thing as { [REPORT]?: unknown })[REPORT];
  return typeof report === "function" ? (report.call(thing) as Report | string) : null;
}
