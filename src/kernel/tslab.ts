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

export interface TslabExecutor {
  complete(code: string, position: number): TslabCompletion;
  inspect(code: string, position: number): NameInfo | undefined;
}

interface TslabReply {
  header: { msg_type: string };
  content: unknown;
  signAndSend(key: string, socket: unknown): void;
}

interface TslabMessage {
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly content: { readonly code: string; readonly cursor_pos: number };
  createReply(): TslabReply;
}

/** What the kernel answers to a request for completion; the cursor counted as in the request. */
interface TslabCompleteReply {
  readonly cursor_start: number;
  readonly cursor_end: number;
  readonly matches: readonly string[];
  readonly metadata: object;
  readonly status: string;
}

/** What the kernel answers to a request to explain a name. */
interface TslabInspectReply {
  readonly status: string;
  readonly found: boolean;
  /** The explanation, by MIME type. */
  readonly data: object;
  readonly metadata: object;
}

export type WriteStream = (name: string, text: string) => void;
type WriteDisplayData = (data: object, update: boolean) => void;

export interface TslabHandler {
  readonly executor: TslabExecutor;
  readonly execCount: number;
  handleExecute(
    request: TslabMessage["content"],
    writeStream: WriteStream,
    writeDisplayData: WriteDisplayData,
  ): Promise<{ status: string; execution_count?: number }>;
  handleExecuteImpl(
    request: TslabMessage["content"],
    writeStream: WriteStream,
    writeDisplayData: WriteDisplayData,
  ): Promise<unknown>;
  handleComplete(request: TslabMessage["content"]): TslabCompleteReply;
  handleInspect(request: TslabMessage["content"]): TslabInspectReply;
}

export interface TslabPublisher {
  send(frames: unknown): Promise<void>;
  close(): void;
}

export interface TslabSocket extends TslabPublisher {
  sendHighWaterMark: number;
}

interface TslabServer {
  readonly handler: TslabHandler;
  readonly connInfo: { readonly key: string };
  iopub: TslabPublisher;
  init(): Promise<void>;
  bindSocket(socket: TslabSocket, port: number): Promise<void>;
  handleExecute(socket: unknown, message: TslabMessage): Promise<void>;
  close(): void;
}

export interface TslabJupyter {
  lastWriteDisplayData: WriteDisplayData | null;
  readonly JupyterHandlerImpl: { readonly prototype: TslabHandler };
  readonly ZmqServer: { readonly prototype: TslabServer };
}

export interface TslabMain {
  startKernel(options: { configPath: string; enableFindLocal: boolean; jsKernel: boolean }): void;
}

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

/** tslab's TypeScript. */
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

/** Loads tslab's Jupyter server. */
export function loadJupyter(): TslabJupyter {
  return requireAsTslab("./jupyter.js") as TslabJupyter;
}

/** Loads tslab's entry. */
export function loadMain(): TslabMain {
  return requireAsTslab("./main.js") as TslabMain;
}
