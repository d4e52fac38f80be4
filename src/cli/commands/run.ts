import { type RunProgress, runNotebook } from "../../kernel/run-notebook.js";
import { themeByName } from "../../notebook/theme.js";

export interface RunCommandOptions {
  readonly out?: string;
  readonly html?: string;
  readonly theme?: string;
}

/** `polewright run NOTEBOOK.ipynb`. */
export async function runCommand(notebook: string, options: RunCommandOptions): Promise<void> {
  const theme = options.theme === undefined ? undefined : themeByName(options.theme, "--theme").name;
  const result = await runNotebook(notebook, {
    ...(options.out === undefined ? {} : { out: options.out }),
    ...(options.html === undefined ? {} : { html: options.html }),
    ...(theme === undefined ? {} : { theme }),
    progress: (progress) => process.stderr.write(`${progressText(progress)}\n`),
  });
  process.stdout.write(`${result.text}\n`);
  process.exitCode = result.ok ? 0 : 1;
}

function progressText({ cell, of, state, firstLine }: RunProgress): string {
  return `Cell ${cell} of ${of} ${state}${state === "running" ? `: ${firstLine}` : ""}`;
}
