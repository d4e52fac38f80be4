/**
 * From a place in the JavaScript that runs to the place in the cell that the builder wrote.
 * tslab compiles a cell in two steps; the maps of both are kept and followed one after the other.
 */
import { SourceMap, type SourceMapPayload } from "node:module";
import type { CellPlace } from "./cell-error.js";

interface BoundCell {
  readonly count: number;
  readonly maps: Maps;
  readonly columnsBefore: number;
  readonly lines: number;
}

interface Maps {
  readonly fromScript: SourceMap;
  readonly fromCell: SourceMap;
}

const INLINE = /\n?\/\/# sourceMappingURL=data:application\/json[^,]*;base64,([A-Za-z0-9+/=]+)\s*$/;
const LINKED = /\n?\/\/# sourceMappingURL=\S+\s*$/;
/** Lines that tslab puts before a cell's own ("export {};"). */
const LINES_BEFORE = 1;

/** JavaScript with the map inside it, parted. */
export function partedMap(code: string): { code: string; map: SourceMapPayload | undefined } {
  const found = INLINE.exec(code);
  if (found === null) return { code, map: undefined };
  const map = JSON.parse(Buffer.from(found[1]!, "base64").toString("utf8")) as SourceMapPayload;
  return { code: code.slice(0, found.index), map };
}

/** JavaScript without the line that names its map. */
export function withoutMapLink(code: string): string {
  return code.replace(LINKED, "");
}

/** Remembers the maps of compiled code, and of which code a cell was made. */
export class CellMaps {
  readonly #byOutput = new Map<string, Maps>();
  readonly #byRun = new Map<number, BoundCell>();

  /** Keeps the maps of a piece of compiled code. */
  keep(output: string, fromCell: SourceMapPayload, fromScript: SourceMapPayload): void {
    this.#byOutput.set(output, { fromCell: new SourceMap(fromCell), fromScript: new SourceMap(fromScript) });
  }

  /** Binds the compiled code that is about to run to its run and count; the others, of imported files, are forgotten. */
  bind(run: number, count: number, output: string, columnsBefore: number): void {
    const maps = this.#byOutput.get(output);
    this.#byOutput.clear();
    if (maps !== undefined)
      this.#byRun.set(run, { count, maps, columnsBefore, lines: output.split("\n").length });
  }

  /** The name under which a run's code runs, as it stands in stack frames. */
  static fileName(run: number): string {
    return `cell[${run}]`;
  }

  /** The place in a cell that a stack frame speaks of; nothing where it speaks of none. */
  readonly place = (frame: string): CellPlace | undefined => {
    const found = /cell\[(\d+)\]:(\d+):(\d+)\)?$/.exec(frame);
    if (found === null) return undefined;
    const [run, line, column] = found.slice(1).map(Number) as [number, number, number];
    const bound = this.#byRun.get(run);
    // After the last line stands only tslab's call of the whole cell.
    if (bound === undefined || line > bound.lines) return undefined;
    const { count, maps, columnsBefore } = bound;
    const script = maps.fromScript.findEntry(line - 1, column - 1 - (line === 1 ? columnsBefore : 0));
    if (!("originalLine" in script)) return undefined;
    const source = maps.fromCell.findEntry(script.originalLine, script.originalColumn);
    if (!("originalLine" in source)) return undefined;
    const sourceLine = source.originalLine + 1 - LINES_BEFORE;
    return sourceLine < 1 ? undefined : { run, count, line: sourceLine, column: source.originalColumn + 1 };
  };
}
