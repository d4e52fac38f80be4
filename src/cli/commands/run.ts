import { constants } from "node:os";
import { type RunProgress, runNotebook } from "../../kernel/run-notebook.js";
import { themeByName } from "../../notebook/theme.js";
import { plainText } from "../../report/escape.js";

export interface RunCommandOptions {
  readonly out?: string;
  readonly html?: string;
  readonly theme?: string;
  readonly timeout?: number;
}

/** Ctrl-C, and what asks a program to end. */
const SIGNALS = ["SIGINT", "SIGTERM", "SIGHUP"] as const;
/** What shells give for a program that a signal ended, plus the signal's number. */
const ENDED_BY_SIGNAL = 128;

/** `polewright run NOTEBOOK.ipynb`. */
export async function runCommand(notebook: string, options: RunCommandOptions): Promise<void> {
  const theme = options.theme === undefined ? undefined : themeByName(options.theme, "--theme").name;
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
    ...(options.out === undefined ? {} : { out: options.out }),
    ...(options.html === undefined ? {} : { html: options.html }),
    ...(options.timeout === undefined ? {} : { timeoutS: options.timeout }),
    ...(theme === undefined ? {} : { theme }),
    stop: stop.signal,
    progress: (progress) => process.stderr.write(`${plainText(progressText(progress))}\n`),
  });
  process.stdout.write(`${result.text}\n`);
  if (!stop.signal.aborted) process.exitCode = result.ok ? 0 : 1;
}

function progressText({ cell, of, state, firstLine }: RunProgress): string {
  return `Cell ${cell} of ${of} ${state}${state === "running" ? `: ${firstLine}` : ""}`;
}
