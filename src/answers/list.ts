/** Every question, by the name of its command; each loads when it is asked. A new question is its file and a line here. */
import type { Question } from "./answer.js";

export const questions: Readonly<Record<string, () => Promise<Question>>> = {
  fit: async () => (await import("./fit.js")).fit,
  turns: async () => (await import("./turns.js")).turns,
  rounds: async () => (await import("./rounds.js")).rounds,
  plan: async () => (await import("./plan.js")).plan,
  tonight: async () => (await import("./tonight.js")).tonight,
  find: async () => (await import("./find.js")).find,
  drift: async () => (await import("./drift.js")).drift,
  drive: async () => (await import("./drive.js")).driveOf,
  exposure: async () => (await import("./exposure.js")).exposureOf,
  keep: async () => (await import("./keep.js")).keep,
  compare: async () => (await import("./compare.js")).compare,
  months: async () => (await import("./months.js")).monthsOf,
  daylight: async () => (await import("./daylight.js")).byDaylight,
  desk: async () => (await import("./desk.js")).deskOf,
  "wrong-telescope": async () => (await import("./wrong-telescope.js")).wrongTelescopeOf,
  "class-page": async () => (await import("./class-page.js")).classPageOf,
  procedure: async () => (await import("./procedure.js")).procedureOf,
  explain: async () => (await import("./explain.js")).explanation,
  describe: async () => (await import("./describe.js")).describe,
};
