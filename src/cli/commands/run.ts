import { constants } from "node:os";
import { given } from "../../answers/given.js";
import { place, positive, text } from "../../answers/takes.js";
import { type RunProgress, runNotebook } from "../../kernel/run-notebook.js";
import { themeByName } from "../../notebook/theme.js";
import { plainText } from "../../words/escape.js";
import { deed } from "../deed.js";
import { themeOption } from "../drive.js";

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
      progress: (progress) => process.stderr.write(`${plainText(progressText(progress))}\n`),
    });
    process.stdout.write(`${result.text}\n`);
    if (!stop.signal.aborted) process.exitCode = result.ok ? 0 : 1;
  },
});

function progressText({ cell, of, state, firstLine }: RunProgress): string {
  return `Cell ${cell} of ${of} ${state}${state === "running" ? `: ${firstLine}` : ""}`;
}
