/**
 * Runs a notebook without Jupyter: every code cell in order, in the notebook's folder, up to the first that fails.
 */
import { existsSync } from "node:fs";
import { basename, dirname, resolve } from "node:path";
import { type Fault, InputError, PolewrightError, shown } from "../errors.js";
import { checkOutputFile, isSameFile, type OutputKind, writeOutputFile } from "../files/output-file.js";
import { readTextFile } from "../files/text-file.js";
import { currentTheme, themeByName } from "../notebook/theme.js";
import { plainText } from "../words/escape.js";
import type { Theme } from "../words/theme.js";
import type { CellError } from "./cell-error.js";
import { type Kernel, KernelError, type KernelOptions, startKernel } from "./client.js";
import type { Environment } from "./kernelspec.js";
import {
  type Cell,
  type CodeCell,
  isCode,
  isTooDeep,
  type MimeData,
  type Notebook,
  notebookText,
  type Output,
  parseNotebook,
  withOutput,
} from "./notebook-file.js";
import { notebookPage } from "./page.js";
import type { Message } from "./wire.js";

/** How far a run has come. */
export interface RunProgress {
  /** The code cell, counted from 1. */
  readonly cell: number;
  /** How many code cells there are. */
  readonly of: number;
  readonly state: "running" | "done" | "failed";
  /** The cell's first line of code. */
  readonly firstLine: string;
}

/** How a notebook is run; everything may be left out. */
export interface RunOptions {
  /** Writes the notebook with its outputs to this file; without it nothing is written. */
  readonly out?: string;
  /** Writes a page that stands on its own to this file. */
  readonly html?: string;
  readonly progress?: (progress: RunProgress) => void;
  /** How long each cell may take, seconds; without it, as long as it likes. */
  readonly timeoutS?: number;
  /** Stops the run; what was brought forth until then is written as always. */
  readonly stop?: AbortSignal;
  /** Environment variables for the notebook's code, besides those of this process. */
  readonly env?: Environment;
  /** The theme of the outputs and of the page; else that of POLEWRIGHT_THEME, else light. */
  readonly theme?: Theme["name"];
  /** How the kernel is started, for tests. */
  readonly kernel?: Omit<KernelOptions, "folder" | "env">;
}

/** The cell at which a run stopped. */
interface FailedCell {
  /** The code cell, counted from 1. */
  readonly cell: number;
  readonly of: number;
  readonly source: string;
  /** The line of the cell, counted from 1, where that is known. */
  readonly line: number | null;
  readonly error: CellError;
}

/** How a run went. */
export interface RunResult {
  readonly ok: boolean;
  /** How many code cells were run, the failed one too. */
  readonly cells: number;
  /** The notebook with its outputs as far as it was run. */
  readonly notebook: Notebook;
  readonly failed?: FailedCell;
  /** The files that were written. */
  readonly written: readonly string[];
  /** What to tell the user. */
  readonly text: string;
}

/**
 * Runs a notebook's code cells in order, in its folder, and keeps their outputs. At the first error it stops, unless the
 * cell carries Jupyter's tag `raises-exception`. The files asked for are written in either case.
 *
 * @param path - the notebook
 * @param options - what to write, how long to wait, whom to tell
 * @returns how it went; a failed cell is no exception
 * @throws InputError where the notebook cannot be read, is not TypeScript, or a file could not be written afterwards
 * @throws KernelError `kernel-start` where no kernel comes up
 * @example
 * ```ts
 * const { ok, text } = await runNotebook("first-night.ipynb", { html: "first-night.html" });
 * ```
 */
export async function runNotebook(path: string, options: RunOptions = {}): Promise<RunResult> {
  const notebook = parseNotebook(readTextFile(path, "notebook"), path);
  refuseUnrunnable(notebook, path, options);
  const theme = options.theme === undefined ? currentTheme() : themeByName(options.theme);
  const early = {
    ok: false,
    cells: 0,
    notebook,
    written: [],
    text: "Stopped before the first cell; nothing was written.",
  };
  let kernel: Kernel;
  try {
    kernel = await startKernel({
      ...options.kernel,
      folder: dirname(resolve(path)),
      env: { ...options.env, POLEWRIGHT_THEME: theme.name },
    });
  } catch (problem) {
    // On a terminal Ctrl-C reaches the kernel too, even while it starts.
    if (options.stop?.aborted) return early;
    throw problem;
  }
  try {
    if (options.stop?.aborted) return early;
    const run = await runCells(kernel, notebook, options);
    const written = writeAsked(run.notebook, path, options, theme);
    return { ok: run.failed === undefined, ...run, written, text: resultText(run, written, options) };
  } finally {
    await kernel.shutdown();
  }
}

interface Run {
  readonly cells: number;
  readonly notebook: Notebook;
  readonly failed?: FailedCell;
}

async function runCells(kernel: Kernel, notebook: Notebook, options: RunOptions): Promise<Run> {
  const of = notebook.cells.filter(isCode).length;
  // What an earlier run left is not this run's.
  const cells: Cell[] = notebook.cells.map((cell) =>
    isCode(cell) ? { ...cell, execution_count: null, outputs: [] } : cell,
  );
  const asFarAs = (): Notebook => ({ ...notebook, metadata: withLanguage(notebook.metadata), cells });
  const displays = new Displays(cells);
  let number = 0;
  for (const [index, cell] of cells.entries()) {
    if (!isCode(cell)) continue;
    number += 1;
    if (cell.source.trim() === "") continue;
    const tell = (state: RunProgress["state"]): void =>
      options.progress?.({ cell: number, of, state, firstLine: firstLine(cell.source) });
    tell("running");
    const error = await runCell(kernel, cell, options, (change) => displays.change(index, change));
    if (error !== undefined && (options.stop?.aborted || !raisesOnPurpose(cell))) {
      tell("failed");
      const failed = { cell: number, of, source: cell.source, line: faultyLine(error), error };
      return { cells: number, notebook: asFarAs(), failed };
    }
    tell("done");
  }
  return { cells: number, notebook: asFarAs() };
}

async function runCell(
  kernel: Kernel,
  { source, id: cellId }: CodeCell,
  { timeoutS, stop }: RunOptions,
  change: (change: CellChange) => void,
): Promise<CellError | undefined> {
  let error: CellError | undefined;
  const onMessage = (message: Message): void => {
    const output = outputOf(message);
    if (output === undefined) return;
    if (output.output_type === "error") error = output;
    const { display_id: id } = Object(message.content.transient) as { display_id?: unknown };
    const display = typeof id === "string" ? id : undefined;
    change({ output, display, update: message.header.msg_type === "update_display_data" });
  };
  try {
    const reply = await kernel.execute(source, { onMessage, cellId, timeoutS, stop });
    change({ count: reply.executionCount });
    if (reply.status === "ok") return undefined;
    return error ?? { ename: "Error", evalue: "The cell did not run.", traceback: ["The cell did not run."] };
  } catch (problem) {
    if (!(problem instanceof KernelError)) throw problem;
    // What the cell itself says of its interruption is enough.
    if (problem.code === "kernel-interrupted" && error !== undefined) return error;
    const { message } = problem;
    const lost = { ename: "KernelError", evalue: message, traceback: message.split("\n") };
    change({ output: { output_type: "error", ...lost }, display: undefined, update: false });
    return lost;
  }
}

type CellChange =
  | { readonly count: number | null }
  | { readonly output: Output; readonly display: string | undefined; readonly update: boolean };

/** Puts into the cells what comes from the kernel; a display that is updated is replaced where it stands. */
class Displays {
  readonly #cells: Cell[];
  readonly #shown = new Map<string, { cell: number; place: number }[]>();

  /** @param cells - changed in place */
  constructor(cells: Cell[]) {
    this.#cells = cells;
  }

  change(index: number, change: CellChange): void {
    const cell = this.#cells[index] as CodeCell;
    if ("count" in change) {
      this.#cells[index] = { ...cell, execution_count: change.count };
      return;
    }
    const { output, display, update } = change;
    if (display !== undefined && update) {
      for (const { cell: at, place } of this.#shown.get(display) ?? []) {
        const shown = this.#cells[at] as CodeCell;
        this.#cells[at] = {
          ...shown,
          outputs: shown.outputs.map((one, nth) => (nth === place ? output : one)),
        };
      }
      return;
    }
    const outputs = withOutput(cell.outputs, output);
    this.#cells[index] = { ...cell, outputs };
    if (display !== undefined) {
      const places = this.#shown.get(display) ?? [];
      this.#shown.set(display, [...places, { cell: index, place: outputs.length - 1 }]);
    }
  }
}

function outputOf({ header, content }: Message): Output | undefined {
  switch (header.msg_type) {
    case "stream":
      return { output_type: "stream", name: String(content.name), text: String(content.text) };
    case "display_data":
    case "update_display_data":
      return {
        output_type: "display_data",
        ...kept(content),
      };
    case "execute_result":
      return {
        output_type: "execute_result",
        ...kept(content),
        execution_count: (content.execution_count as number | undefined) ?? null,
      };
    case "error": {
      const { ename, evalue, traceback } = content as unknown as CellError;
      return { output_type: "error", ename, evalue, traceback };
    }
    default:
      return undefined;
  }
}

/** Data and metadata without what is nested too deeply for a notebook's file. */
function kept(content: Message["content"]): { data: MimeData; metadata: MimeData } {
  const fit = ([, value]: [string, unknown]) => !isTooDeep(value);
  const only = (from: unknown) => Object.fromEntries(Object.entries(Object(from)).filter(fit));
  return { data: only(content.data), metadata: only(content.metadata) };
}

const outputKinds = { out: "notebook", html: "page" } as const satisfies Record<string, OutputKind>;

function refuseUnrunnable(notebook: Notebook, path: string, options: RunOptions): void {
  const faults: Fault[] = [];
  const kernelspec = Object(notebook.metadata.kernelspec) as { language?: unknown; name?: unknown };
  const info = Object(notebook.metadata.language_info) as { name?: unknown };
  const language = info.name ?? kernelspec.language;
  if (language !== undefined && language !== "typescript") {
    faults.push({
      code: "notebook-language",
      file: path,
      path: info.name === undefined ? "metadata.kernelspec.language" : "metadata.language_info.name",
      found: shown(language),
      allowed: "typescript; in Jupyter choose the kernel Polewright (TypeScript) and save",
      message: "The notebook is written in another language.",
    });
  }
  if (options.out !== undefined && options.html !== undefined && isSameFile(options.out, options.html)) {
    const allowed = "another file than --out";
    const message = "The notebook and the page cannot be one file.";
    faults.push({ code: "same-file", path: "html", found: shown(options.html), allowed, message });
  }
  for (const [name, target] of Object.entries({ out: options.out, html: options.html })) {
    if (target === undefined) continue;
    const refused = {
      path: name,
      found: shown(target),
      allowed: "the path of a file in a folder that exists",
    };
    // Said before the cells run: a long night's notebook must not run in vain.
    try {
      checkOutputFile(target, outputKinds[name as keyof typeof outputKinds], `--${name}`);
      if (existsSync(dirname(resolve(target)))) continue;
      faults.push({ ...refused, code: "not-writable", message: "The result could not be written there." });
    } catch (problem) {
      if (!(problem instanceof PolewrightError)) throw problem;
      faults.push({ ...refused, code: problem.code, message: problem.message });
    }
  }
  if (faults.length > 0) throw new InputError(faults);
}

function writeAsked(notebook: Notebook, path: string, options: RunOptions, theme: Theme): string[] {
  const written: string[] = [];
  const put = (name: keyof typeof outputKinds, text: () => string): void => {
    const target = options[name];
    if (target === undefined) return;
    try {
      writeOutputFile(target, text(), outputKinds[name], `--${name}`);
    } catch (problem) {
      if (!(problem instanceof PolewrightError)) throw problem;
      throw new PolewrightError(problem.code, `The notebook ran. ${problem.message}`);
    }
    written.push(target);
  };
  put("out", () => notebookText(notebook));
  put("html", () => notebookPage(notebook, { title: basename(path, ".ipynb"), theme }));
  return written;
}

function withLanguage(metadata: Notebook["metadata"]): Notebook["metadata"] {
  return {
    kernelspec: { display_name: "Polewright (TypeScript)", language: "typescript", name: "polewright" },
    language_info: { file_extension: ".ts", mimetype: "text/typescript", name: "typescript" },
    ...metadata,
  };
}

function raisesOnPurpose(cell: CodeCell): boolean {
  const { tags } = cell.metadata;
  return Array.isArray(tags) && tags.includes("raises-exception");
}

function firstLine(source: string): string {
  return (
    source
      .split("\n")
      .find((line) => line.trim() !== "")
      ?.trim() ?? ""
  );
}

function faultyLine({ traceback }: CellError): number | null {
  for (const entry of traceback) {
    const found = /^(?:\s+at )?line (\d+), column/.exec(entry);
    if (found !== null) return Number(found[1]);
  }
  return null;
}

function resultText(run: Run, written: readonly string[], { stop }: RunOptions): string {
  const files = written.map((file) => `Written: ${file}`);
  const { failed } = run;
  const said =
    failed === undefined
      ? `All ${run.cells} code cells ran without an error.`
      : stop?.aborted
        ? `Stopped in code cell ${failed.cell} of ${failed.of}; the cells after it were not run.`
        : failedText(failed);
  // A notebook's code and errors could move the terminal's cursor, or turn the direction of writing.
  return plainText([said, ...files].join("\n").replace(/\t/g, "  "));
}

/**
 * A failed cell as text: which it is, its code with the faulty line marked, and what is wrong.
 *
 * @param failed - the cell
 */
function failedText({ cell, of, source, line, error }: FailedCell): string {
  const lines = source.replace(/\n$/, "").split("\n");
  const width = String(lines.length).length;
  const listing = lines.map((text, index) => {
    const mark = index + 1 === line ? ">" : " ";
    return `  ${mark} ${String(index + 1).padStart(width)} | ${text}`;
  });
  return [
    `Code cell ${cell} of ${of} failed; the cells after it were not run.`,
    "",
    ...listing,
    "",
    ...error.traceback,
  ].join("\n");
}
