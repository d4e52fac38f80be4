import { constants } from "node:os";
import { given } from "../../answers/given.js";
import { place, positive, text } from "../../answers/takes.js";
import { type RunProgress, runNotebook } from "../../kernel/run-notebook.js";
import { themeByName } from "../../notebook/theme.js";
import { plainText } from "../../words/escape.js";
import { deed } from "../deed.js";
import { themeOption } from "../drive.js";
import { bar, coloursOf, inColours } from "../terminal.js";

/** Ctrl-C, and what asks a program to end. */
const SIGNALS = ["SIGINT", "SIGTERM", "SIGHUP"] as const;
/** What shells give for a program that a signal ended, plus the signal's number. */
const ENDED_BY_SIGNAL = 128;

/** `polewright run NOTEBOOK.ipynb`. */
export const run = deed({
  name: "run",
  asks: "run a notebook without Jupyter",
  example: "polewright run my-telescope/first-night.ipynb --html first-night.html",
  takes: {
    notebook: place("notebook", "the notebook (.ipynb)"),
    out: text("file", "write the notebook with its outputs here"),
    html: text("file", "write a page that stands on its own here"),
    timeout: positive("seconds", "stop a cell that takes longer"),
    theme: themeOption,
  },
  async run({ notebook, out, html, timeout, theme }) {
    const stop = new AbortController();
    for (const signal of SIGNALS) {
      process.on(signal, () => {
        process.exitCode = ENDED_BY_SIGNAL + constants.signals[signal];
        // Whoever asks twice does not want to wait.
        if (stop.signal.aborted) process.exit();
        stop.abort();
      });
    }
    const result = await runNotebook(notebook, {
      ...given({
        out,
        html,
        timeoutS: timeout,
        theme: theme === undefined ? undefined : themeByName(theme, "--theme").name,
      }),
      stop: stop.signal,
      progress: (progress) => process.stderr.write(progressText(progress, theme)),
    });
    if (process.stderr.isTTY) process.stderr.write("\n");
    process.stdout.write(`${result.text}\n`);
    if (!stop.signal.aborted) process.exitCode = result.ok ? 0 : 1;
  },
});

/** A bar that stays in its line on a terminal; elsewhere a line for each cell that begins or ends. */
function progressText({ cell, of, state, firstLine }: RunProgress, theme: string | undefined): string {
  const says = plainText(`Cell ${cell} of ${of} ${state}${state === "running" ? `: ${firstLine}` : ""}`);
  if (!process.stderr.isTTY) return `${says}\n`;
  const line = `${bar(state === "running" ? cell - 1 : cell, of)} ${says}`;
  return `\r${inColours(line.slice(0, (process.stderr.columns || 80) - 1), coloursOf(process.stderr, theme))}\x1b[K`;
}
