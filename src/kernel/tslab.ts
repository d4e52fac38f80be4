/**
 * The parts of tslab that the kernel builds on, with the shapes they have in the pinned version 1.0.22.
 * tslab is CommonJS and publishes no types for these parts.
 */
import { createRequire } from "node:module";
import { dirname } from "node:path";
import type { Parser } from "./completion.js";
import type { NameInfo } from "./explanation.js";
import type { DiskView, DiskWatch } from "./package-link.js";

/** One entry of a completion list. */
interface TslabCompletion {
  readonly start: number;
  readonly end: number;
  readonly candidates: readonly string[];
}

/** Compiles and runs cells. */
export interface TslabExecutor {
  /** Runs code; false where it failed. What failed goes to the console that the executor was made with. */
  execute(code: string): Promise<boolean>;
  complete(code: string, position: number): TslabCompletion;
  inspect(code: string, position: number): NameInfo | undefined;
  /** Ends the wait for a cell's promise. */
  interrupt(): void;
}

/** Where an executor puts a cell's last value, and its errors. */
interface TslabConsole {
  log(value: unknown): void;
  error(...args: unknown[]): void;
}

/** Turns TypeScript into JavaScript, for Node.js or for a browser. */
interface TslabConverter {
  close(): void;
}

/** The parts of tslab that compile and run. */
interface TslabParts {
  createExecutor(
    folder: string,
    converters: { readonly node: TslabConverter; readonly browser: TslabConverter; close(): void },
    console: TslabConsole,
  ): TslabExecutor;
  createConverter(options: { isJS: boolean; isBrowser: boolean }): TslabConverter;
}

/** Takes what a cell shows through tslab's own `display`. */
export type WriteDisplay = (content: Readonly<Record<string, unknown>>, update: boolean) => void;

/** A timer of tslab's: it runs when the next cell is compiled, not with the clock. */
export interface TslabTimer {
  callback: () => void;
}

/** What tslab gives TypeScript for an operating system. */
export interface TslabSystem {
  setTimeout(callback: () => void, ...rest: unknown[]): TslabTimer;
  clearTimeout(timer: TslabTimer): void;
}

interface TranspileOptions {
  readonly compilerOptions?: object;
}

/** The parts of tslab's own TypeScript. */
export interface TslabTypeScript extends Parser {
  readonly sys: DiskView & DiskWatch;
  createWatchCompilerHost(files: unknown, options: object, system: TslabSystem, ...rest: unknown[]): unknown;
  transpileModule(code: string, options: TranspileOptions): { outputText: string; sourceMapText?: string };
}

const require = createRequire(import.meta.url);
const mainPath = require.resolve("tslab/dist/main.js");
const requireAsTslab = createRequire(mainPath);

/** tslab's own folder; it looks for Node's types in `node_modules` there when the notebook's folder has none. */
export const TSLAB_FOLDER = dirname(dirname(mainPath));

/** Resolves a package as tslab's code would. */
export function resolveAsTslab(request: string): string {
  return requireAsTslab.resolve(request);
}

/** tslab's TypeScript, as {@link loadTypeScript} left it. */
export function typeScriptOfTslab(): TslabTypeScript {
  return requireAsTslab("@tslab/typescript-for-tslab") as TslabTypeScript;
}

/**
 * Loads tslab's TypeScript before tslab does, and lets tslab see what `change` makes of it.
 *
 * @param change - from TypeScript to what tslab shall use instead
 */
export function loadTypeScript(change: (typescript: TslabTypeScript) => Partial<TslabTypeScript>): void {
  const path = requireAsTslab.resolve("@tslab/typescript-for-tslab");
  const typescript = requireAsTslab(path) as TslabTypeScript;
  // The module's own names are read-only getters: a copy stands in for it.
  require.cache[path]!.exports = { ...typescript, ...change(typescript) };
}

/**
 * An executor of tslab's.
 *
 * @param folder - the notebook's folder
 * @param console - where the executor puts a cell's last value, and its errors
 */
export function newExecutor(folder: string, console: TslabConsole): TslabExecutor {
  const { createExecutor } = requireAsTslab("./executor.js") as TslabParts;
  const { createConverter } = requireAsTslab("./converter.js") as TslabParts;
  const node = createConverter({ isJS: false, isBrowser: false });
  let browser: TslabConverter | undefined;
  const converters = {
    node,
    get browser() {
      browser ??= createConverter({ isJS: false, isBrowser: true });
      return browser;
    },
    close: () => node.close(),
  };
  return createExecutor(folder, converters, console);
}

/** Has tslab's own `display` write to `write`. */
export function takeDisplays(write: WriteDisplay): void {
  (requireAsTslab("./jupyter.js") as { lastWriteDisplayData: WriteDisplay }).lastWriteDisplayData = write;
}

/** The versions of tslab and of its TypeScript. */
export function tslabVersions(): { tslab: string; typescript: string } {
  const version = (name: string): string =>
    (requireAsTslab(`${name}/package.json`) as { version: string }).version;
  return { tslab: version(".."), typescript: version("@tslab/typescript-for-tslab") };
}
