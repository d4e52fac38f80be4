/**
 * What a terminal shows besides the words: bold and red by day, red on black at night, and that work goes on. What
 * goes to a file or a pipe stays bare.
 */
import { Worker } from "node:worker_threads";

/** How text looks: bare, by day, or red on black. */
export type Colours = "none" | "day" | "night";

/** A stream that may be a terminal. */
interface Stream {
  readonly isTTY?: boolean;
}

/**
 * The colours of a stream. A theme asked for on the command line counts more than NO_COLOR, and that more than
 * POLEWRIGHT_THEME (https://no-color.org).
 */
export function coloursOf(
  stream: Stream,
  theme: string | undefined,
  environment: Readonly<Record<string, string | undefined>> = process.env,
): Colours {
  const { NO_COLOR = "", TERM, POLEWRIGHT_THEME } = environment;
  if (stream.isTTY !== true || TERM === "dumb") return "none";
  if (theme === undefined && NO_COLOR !== "") return "none";
  return (theme ?? POLEWRIGHT_THEME) === "night" ? "night" : "day";
}

/** Sets a terminal to red on black. */
export const RED_ON_BLACK = "\x1b[31;40m";
const PLAIN = "\x1b[0m";
/** Fills the rest of the line with the colour behind it. */
const FILL = "\x1b[K";

/** Lines in the night's colours; others stay as they are. White light spoils the night's eyes. */
export function inColours(text: string, colours: Colours): string {
  if (colours !== "night") return text;
  return text.replace(/[^\n]+|(?<=\n)(?=\n)/g, (line) => `${RED_ON_BLACK}${line}${FILL}${PLAIN}`);
}

/** The theme among the words of a command line. */
export function themeAmong(words: readonly string[]): string | undefined {
  const at = words.findIndex((word) => word === "--theme" || word.startsWith("--theme="));
  if (at < 0) return undefined;
  return words[at] === "--theme" ? words[at + 1] : words[at]!.slice("--theme=".length);
}

/** Says on a terminal, from the first second on, that work goes on; the thread that works is not asked. */
const TELLER = `
const { writeSync } = require("node:fs");
const { workerData } = require("node:worker_threads");
let seconds = 0;
setInterval(() => {
  seconds += 1;
  writeSync(2, "\\r" + workerData.before + "Working: " + seconds + " s" + workerData.after);
}, 1000);
`;

/**
 * Does some work; where it takes more than a second, a terminal says how long it has worked, and forgets it afterwards.
 *
 * @returns what the work gives
 */
export async function withProgress<T>(work: () => Promise<T>, theme: string | undefined): Promise<T> {
  if (process.stderr.isTTY !== true) return work();
  const [before, after] =
    coloursOf(process.stderr, theme) === "night" ? [RED_ON_BLACK, FILL + PLAIN] : ["", ""];
  const started = Date.now();
  const teller = new Worker(TELLER, { eval: true, workerData: { before, after } });
  teller.unref();
  try {
    return await work();
  } finally {
    await teller.terminate();
    if (Date.now() - started > 1000) process.stderr.write(`\r${FILL}`);
  }
}

/** A bar for work of so many steps. */
export function bar(done: number, of: number, width = 20): string {
  const filled = Math.round((width * done) / Math.max(1, of));
  return `[${"#".repeat(filled)}${"-".repeat(width - filled)}]`;
}
