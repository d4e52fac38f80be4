import { given } from "../../answers/given.js";
import { place, text } from "../../answers/takes.js";
import { type RunProgress, runNotebook } from "../../kernel/run-notebook.js";
import { themeByName } from "../../notebook/theme.js";
import { deed } from "../deed.js";
import { themeOption } from "../drive.js";

/** `polewright run NOTEBOOK.ipynb`. */
export const run = deed({
  name: "run",
  asks: "run a notebook without Jupyter",
  example: "polewright run my-telescope/first-night.ipynb --html first-night.html",
  takes: {
    notebook: place("notebook", "the notebook (.ipynb)"),
    out: text("file", "write the notebook with its outputs here"),
    html: text("file", "write a page that stands on its own here"),
    theme: themeOption,
  },
  async run({ notebook, out, html, theme }) {
    const result = await runNotebook(notebook, {
      ...given({ out, html, theme: theme === undefined ? undefined : themeByName(theme, "--theme").name }),
      progress: (progress) => process.stderr.write(`${progressText(progress)}\n`),
    });
    process.stdout.write(`${result.text}\n`);
    process.exitCode = result.ok ? 0 : 1;
  },
});

function progressText({ cell, of, state, firstLine }: RunProgress): string {
  return `Cell ${cell} of ${of} ${state}${state === "running" ? `: ${firstLine}` : ""}`;
}
