/**
 * Runs cells: tslab compiles and runs their code, here is seen what comes of it: text, displays, a result, an error.
 */
import { StringDecoder } from "node:string_decoder";
import { inspect } from "node:util";
import vm from "node:vm";
import { type CellError, type TypeFinding, thrownCellError, typeCellError } from "./cell-error.js";
import { CellMaps } from "./cell-map.js";
import { Language } from "./language.js";
import { newExecutor, type TslabExecutor, takeDisplays, typeScriptOfTslab } from "./tslab.js";
import type { Content } from "./wire.js";
import { writtenOut } from "./written-out.js";

/** Takes what a cell brings forth. */
export interface CellOutput {
  stream(name: "stdout" | "stderr", text: string): void;
  display(content: Content, update: boolean): void;
  /** The value of the last expression, by MIME type. */
  result(data: Content): void;
  clear(): void;
}

/** A cell that is run. */
export interface CellRun {
  readonly code: string;
  /** The number that it is given in the notebook. */
  readonly count: number;
  /** What tells it from other cells; its code where Jupyter gives no id. */
  readonly id: string | undefined;
  readonly output: CellOutput;
  /** Whether what is printed after its end still belongs to it. */
  readonly lasting: boolean;
}

interface RunningCell extends CellRun {
  readonly run: number;
  readonly findings: TypeFinding[];
  error?: CellError;
}

const FINDING_FORMAT = "%s%d:%d - %s";
const INTERRUPTED: CellError = {
  ename: "Interrupted",
  evalue: "The cell was interrupted.",
  traceback: ["Interrupted: The cell was interrupted."],
};

const NOWHERE: CellOutput = { stream: () => {}, display: () => {}, result: () => {}, clear: () => {} };

/** The library's way to show a result: one display with all the forms that it has. */
const DISPLAY = Symbol.for("polewright.display");
/** Tells the library which cell runs. */
const CELL = Symbol.for("polewright.cell");
/** The library's forms of a cell's last value, by MIME type; nothing for values that are not its own. */
const RESULT = Symbol.for("polewright.result");

export class Cells {
  readonly language: Language;
  readonly #executor: TslabExecutor;
  readonly #maps: CellMaps;
  #running: RunningCell | undefined;
  /** Where goes what is printed. */
  #output: CellOutput = NOWHERE;
  #runs = 0;

  /**
   * @param folder - the notebook's folder
   * @param maps - knows how the compiled code came about
   */
  constructor(folder: string, maps: CellMaps) {
    this.#maps = maps;
    this.#executor = newExecutor(folder, {
      log: (value) => this.#output.result(resultData(value)),
      error: (...args) => this.#onError(args),
    });
    this.language = new Language(this.#executor, typeScriptOfTslab());
    this.#nameRuns();
    takeDisplays((content, update) => this.#output.display(content, update));
    Object.assign(globalThis, {
      [DISPLAY]: (data: Content) => this.#output.display({ data, metadata: {}, transient: {} }, false),
      [CELL]: () => {
        const cell = this.#running;
        return cell === undefined ? null : { cell: cell.id ?? cell.code, run: cell.run };
      },
    });
  }

  /** From here on what is printed is a cell's output, and no longer this process's. */
  takeConsole(): void {
    for (const name of ["stdout", "stderr"] as const) {
      const decoder = new StringDecoder("utf8");
      const write = (chunk: unknown, ...rest: readonly unknown[]): boolean => {
        const [encoding] = rest;
        const text =
          typeof chunk !== "string"
            ? decoder.write(Buffer.from(chunk as Uint8Array))
            : typeof encoding === "string" && !/^utf-?8$/i.test(encoding)
              ? decoder.write(Buffer.from(chunk, encoding as BufferEncoding))
              : chunk;
        if (text !== "") this.#output.stream(name, text);
        const done = rest.at(-1);
        if (typeof done === "function") process.nextTick(done as () => void);
        return true;
      };
      process[name].write = write as typeof process.stdout.write;
    }
    console.clear = () => this.#output.clear();
    const late = (what: string) => (reason: unknown) => {
      const { traceback } = thrownCellError(reason, "", 0, this.#maps.place);
      this.#output.stream("stderr", `${what}\n${traceback.join("\n")}\n`);
    };
    process.on("uncaughtException", late("An error outside every cell:"));
    process.on("unhandledRejection", late("A promise failed, and nobody waited for it:"));
  }

  /**
   * Runs a cell to its end.
   *
   * @returns its error, where it failed
   */
  async run(cell: CellRun): Promise<CellError | undefined> {
    this.#runs += 1;
    const running: RunningCell = { ...cell, run: this.#runs, findings: [] };
    const before = this.#output;
    this.#running = running;
    this.#output = cell.output;
    try {
      const ok = await this.#executor.execute(writtenOut(typeScriptOfTslab(), cell.code));
      if (!ok)
        return (
          running.error ?? thrownCellError("The cell did not run.", cell.code, running.run, () => undefined)
        );
      // A module's findings do not keep it from being known.
      if (running.error !== undefined)
        cell.output.stream("stderr", `${running.error.traceback.join("\n")}\n`);
      return undefined;
    } catch (error) {
      return running.error ?? this.#thrown(error, running);
    } finally {
      this.#running = undefined;
      if (!cell.lasting) this.#output = before;
    }
  }

  /** Ends the wait for what the running cell awaits. */
  interrupt(): void {
    this.#executor.interrupt();
  }

  #onError(args: readonly unknown[]): void {
    const running = this.#running;
    if (running === undefined) return;
    if (args[0] !== FINDING_FORMAT) {
      running.error = this.#thrown(args[0], running);
      return;
    }
    const [, file, line, column, text] = args as [string, string, number, number, string];
    running.findings.push({ ...(file === "" ? {} : { file: file.trim() }), line, column, text });
    running.error = typeCellError(running.code, running.findings, this.language.namesAt);
  }

  #thrown(error: unknown, { code, run }: RunningCell): CellError {
    return isInterruption(error) ? INTERRUPTED : thrownCellError(error, code, run, this.#maps.place);
  }

  /** Cells run under their own name, so that a frame of the stack tells in which of them it is. */
  #nameRuns(): void {
    const usual = vm.runInThisContext;
    vm.runInThisContext = ((code: string, options?: vm.RunningCodeOptions | string) => {
      const wrapped = /^\((async )?function\(exports, require\) \{ /.exec(code);
      const running = this.#running;
      if (running === undefined || wrapped === null || typeof options === "string") {
        return usual.call(vm, code, options);
      }
      const before = wrapped[0].length;
      const own = code.slice(before, code.lastIndexOf("\n})("));
      this.#maps.bind(running.run, running.count, own, before);
      return usual.call(vm, code, { ...options, filename: CellMaps.fileName(running.run) });
    }) as typeof vm.runInThisContext;
  }
}

function isInterruption(error: unknown): boolean {
  const { code, message } = Object(error) as { code?: unknown; message?: unknown };
  return code === "ERR_SCRIPT_EXECUTION_INTERRUPTED" || message === "Interrupted asynchronously";
}

/** A value in the forms that the library has for it, else as Node prints it. */
function resultData(value: unknown): Content {
  const forms = (globalThis as { [RESULT]?: (value: unknown) => Content | null | undefined })[RESULT]?.(
    value,
  );
  return forms ?? { "text/plain": typeof value === "string" ? value : inspect(value) };
}
