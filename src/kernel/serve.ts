/**
 * tslab's kernel with what a notebook of this package needs: the package itself, a display, completion inside quotes,
 * errors that name the line, and an end in good order.
 */
import Module from "node:module";
import { dirname, join } from "node:path";
import vm from "node:vm";
import { Worker } from "node:worker_threads";
import { type CellError, type TypeFinding, thrownCellError, typeCellError } from "./cell-error.js";
import { CellMaps, partedMap, withoutMapLink } from "./cell-map.js";
import { calledName, charactersOf, literalAround, matchingNames, unitsOf } from "./completion.js";
import { explanation } from "./explanation.js";
import {
  type FolderLink,
  packageRoot,
  type Resolve,
  resolveWithLink,
  showLinks,
  slashed,
  watchLess,
} from "./package-link.js";
import {
  loadJupyter,
  loadMain,
  loadTypeScript,
  resolveAsTslab,
  TSLAB_FOLDER,
  type TslabExecutor,
  type TslabHandler,
  type TslabJupyter,
  type TslabPublisher,
  type TslabSocket,
  type TslabSystem,
  type TslabTimer,
  typeScriptOfTslab,
  type WriteStream,
} from "./tslab.js";

const PACKAGE = "polewright";
const PARENT_CHECK_MS = 1000;
const EXIT_GRACE_MS = 500;

/** Where the kernel runs. */
export interface ServeOptions {
  /** The connection file. */
  readonly configPath: string;
  /** The package that a notebook imports, where its folder has none. */
  readonly ownRoot: string;
  readonly notebookFolder: string;
}

/**
 * Serves a notebook until it is told to stop.
 *
 * @param options - where
 */
export function serveKernel(options: ServeOptions): void {
  const root = packageRoot(PACKAGE, options.notebookFolder, options.ownRoot);
  const maps = new CellMaps();
  quietAboutModules();
  linkPackage(root);
  loadTypeScript((typescript) => {
    showLinks(typescript.sys, typeLinks(root, options.notebookFolder));
    watchLess(typescript.sys, [join(root, "dist")]);
    return {
      createWatchCompilerHost: (files, compilerOptions, system, ...rest) => {
        keepTimersApart(system);
        const withMap = { ...compilerOptions, inlineSourceMap: true };
        return typescript.createWatchCompilerHost(files, withMap, system, ...rest);
      },
      transpileModule: (code, transpileOptions) => {
        const parted = partedMap(code);
        if (parted.map === undefined) return typescript.transpileModule(code, transpileOptions);
        const compilerOptions = { ...transpileOptions.compilerOptions, sourceMap: true };
        const result = typescript.transpileModule(parted.code, { ...transpileOptions, compilerOptions });
        const outputText = withoutMapLink(result.outputText);
        if (result.sourceMapText !== undefined)
          maps.keep(outputText, parted.map, JSON.parse(result.sourceMapText));
        return { ...result, outputText };
      },
    };
  });
  const jupyter = loadJupyter();
  offerDisplay(jupyter);
  completeInsideQuotes(jupyter);
  explainNames(jupyter);
  countInCharacters(jupyter);
  const report = tellOfCells(jupyter, maps);
  endInGoodOrder(jupyter);
  // tslab keeps the console's `error` for the errors of cells: it is given another one, the cells keep their own.
  const usual = console.error;
  console.error = report;
  try {
    loadMain().startKernel({ configPath: options.configPath, enableFindLocal: false, jsKernel: false });
  } finally {
    console.error = usual;
  }
}

/** Node remarks that modules are experimental when a cell loads one; in a notebook that is noise. */
function quietAboutModules(): void {
  const usual = process.emitWarning.bind(process) as (...args: unknown[]) => void;
  process.emitWarning = ((warning: unknown, ...rest: unknown[]) => {
    const type = typeof rest[0] === "string" ? rest[0] : (rest[0] as { type?: string } | undefined)?.type;
    if (type === "ExperimentalWarning" && String(warning).includes("require()")) return;
    usual(warning, ...rest);
  }) as typeof process.emitWarning;
}

/**
 * tslab keeps one timer, that of the next compilation, and fails for good once TypeScript starts another beside it: after
 * an import that was not found, as soon as any file appears in the notebook's folder. That other one only brings forward
 * what the next compilation does anyway, so it need not run. Nor may a compilation that fails leave its timer behind.
 */
function keepTimersApart(system: TslabSystem): void {
  const { setTimeout: start, clearTimeout: clear } = system;
  const never: TslabTimer = { callback: () => {} };
  system.setTimeout = (callback, ...rest) => {
    if (callback.name === "invalidateResolutionsOfFailedLookup") return never;
    const timer = start.call(system, callback, ...rest);
    const compile = timer.callback;
    timer.callback = () => {
      try {
        compile();
      } catch (error) {
        clear.call(system, timer);
        throw error;
      }
    };
    return timer;
  };
  system.clearTimeout = (timer) => {
    if (timer !== never) clear.call(system, timer);
  };
}

function linkPackage(root: string): void {
  const loader = Module as unknown as { _resolveFilename: Resolve };
  loader._resolveFilename = resolveWithLink(loader._resolveFilename, PACKAGE, root);
}

/** What the type checker must see besides what is there: the package, and Node's types where tslab looks for them. */
function typeLinks(root: string, notebookFolder: string): FolderLink[] {
  const links = [{ at: slashed(join(notebookFolder, "node_modules", PACKAGE)), target: slashed(root) }];
  const nodeTypes = slashed(dirname(resolveAsTslab("@types/node/package.json")));
  const expected = slashed(join(TSLAB_FOLDER, "node_modules", "@types", "node"));
  if (nodeTypes !== expected) links.push({ at: expected, target: nodeTypes });
  return links.filter(({ at, target }) => at !== target);
}

/** The library's way to show a result: one display with all the forms that it has. */
function offerDisplay(jupyter: TslabJupyter): void {
  Object.assign(globalThis, {
    [Symbol.for("polewright.display")]: (bundle: Readonly<Record<string, string>>): void => {
      if (jupyter.lastWriteDisplayData === null)
        throw new Error("Nothing can be shown before the first cell runs.");
      jupyter.lastWriteDisplayData({ data: bundle, metadata: {}, transient: {} }, false);
    },
  });
}

/** tslab offers every name inside quotes, whatever was typed, and puts it after what was typed. */
function completeInsideQuotes(jupyter: TslabJupyter): void {
  const parser = typeScriptOfTslab();
  const { prototype } = jupyter.JupyterHandlerImpl;
  const usual = prototype.handleComplete;
  prototype.handleComplete = function (this: TslabHandler, request) {
    const { code, cursor_pos: position } = request;
    try {
      const place = literalAround(parser, code, position);
      if (place === undefined) return usual.call(this, request);
      const matches = matchingNames(namesAt(this.executor, code, position), place.typed);
      return { cursor_start: place.start, cursor_end: place.end, matches, metadata: {}, status: "ok" };
    } catch {
      // TypeScript stumbles over some half-typed code. Without an answer Jupyter would wait for one.
      return { cursor_start: position, cursor_end: position, matches: [], metadata: {}, status: "ok" };
    }
  };
}

/**
 * tslab explains only the name at the cursor, and of its tags it gives the texts without their words. Behind the bracket that
 * opens a call's arguments, where one stops to ask, the function is explained.
 */
function explainNames(jupyter: TslabJupyter): void {
  jupyter.JupyterHandlerImpl.prototype.handleInspect = function (this: TslabHandler, request) {
    const { code, cursor_pos: position } = request;
    const explained = (at: number | undefined): string => {
      const info = at === undefined ? undefined : this.executor.inspect(code, at);
      return info ? explanation(info) : "";
    };
    let text = "";
    try {
      text = explained(position) || explained(calledName(code, position));
    } catch {
      // TypeScript stumbles over some half-typed code.
    }
    return {
      status: "ok",
      found: text !== "",
      data: text === "" ? {} : { "text/plain": text },
      metadata: {},
    };
  };
}

/** tslab takes Jupyter's cursor for one of its own; that is off by one for every character of two UTF-16 units before it. */
function countInCharacters(jupyter: TslabJupyter): void {
  const { prototype } = jupyter.JupyterHandlerImpl;
  const { handleComplete: complete, handleInspect: inspect } = prototype;
  prototype.handleComplete = function (this: TslabHandler, request) {
    const { code } = request;
    const answer = complete.call(this, { ...request, cursor_pos: unitsOf(code, request.cursor_pos) });
    return {
      ...answer,
      cursor_start: charactersOf(code, answer.cursor_start),
      cursor_end: charactersOf(code, answer.cursor_end),
    };
  };
  prototype.handleInspect = function (this: TslabHandler, request) {
    return inspect.call(this, { ...request, cursor_pos: unitsOf(request.code, request.cursor_pos) });
  };
}

function namesAt(executor: TslabExecutor, code: string, position: number): readonly string[] {
  return executor.complete(code, position).candidates;
}

interface RunningCell {
  readonly code: string;
  readonly count: number;
  /** What tells one cell from another: Jupyter's id of it, else its code. */
  readonly id: string;
  readonly executor: TslabExecutor;
  readonly findings: TypeFinding[];
  error?: CellError;
}

const FINDING_FORMAT = "%s%d:%d - %s";

/**
 * Lets the library know which cell runs, and sends a cell's error as Jupyter expects it, besides the bare status that
 * tslab sends.
 */
function tellOfCells(jupyter: TslabJupyter, maps: CellMaps): typeof console.error {
  const errors = new WeakMap<WriteStream, CellError>();
  const ids = new WeakMap<WriteStream, string>();
  let running: RunningCell | undefined;

  Object.assign(globalThis, {
    [Symbol.for("polewright.cell")]: () =>
      running === undefined ? null : { cell: running.id, run: running.count },
  });

  const handler = jupyter.JupyterHandlerImpl.prototype;
  const execute = handler.handleExecuteImpl;
  handler.handleExecuteImpl = async function (this: TslabHandler, request, writeStream, writeDisplayData) {
    const cell: RunningCell = {
      code: request.code,
      count: this.execCount + 1,
      executor: this.executor,
      id: ids.get(writeStream) ?? request.code,
      findings: [],
    };
    running = cell;
    try {
      return await execute.call(this, request, writeStream, writeDisplayData);
    } catch (error) {
      errors.set(writeStream, cell.error ?? thrownCellError(error, cell.code, cell.count, maps.place));
      throw error;
    } finally {
      running = undefined;
    }
  };

  const server = jupyter.ZmqServer.prototype;
  server.handleExecute = async function (socket, message) {
    const publish = (type: string, content: unknown): void => {
      const reply = message.createReply();
      reply.header.msg_type = type;
      reply.content = content;
      reply.signAndSend(this.connInfo.key, this.iopub);
    };
    const writeStream: WriteStream = (name, text) => publish("stream", { name, text });
    const { cellId } = message.metadata;
    if (typeof cellId === "string") ids.set(writeStream, cellId);
    const content = await this.handler.handleExecute(message.content, writeStream, (data, update) =>
      publish(update ? "update_display_data" : "display_data", data),
    );
    const error = errors.get(writeStream);
    if (error !== undefined) publish("error", error);
    const reply = message.createReply();
    reply.header.msg_type = "execute_reply";
    // The protocol's word for a cell that was not run is another than tslab's.
    const status = content.status === "abort" ? "aborted" : content.status;
    reply.content = { ...content, status, ...error };
    reply.signAndSend(this.connInfo.key, socket);
  };

  // Cells run under their own name, so that a frame of the stack tells in which of them it is.
  const usual = vm.runInThisContext;
  vm.runInThisContext = ((code: string, options?: vm.RunningCodeOptions | string) => {
    const wrapped = /^\((async )?function\(exports, require\) \{ /.exec(code);
    if (running === undefined || wrapped === null || typeof options === "string") {
      return usual.call(vm, code, options);
    }
    const before = wrapped[0].length;
    maps.bind(running.count, code.slice(before, code.lastIndexOf("\n})(")), before);
    return usual.call(vm, code, { ...options, filename: CellMaps.fileName(running.count) });
  }) as typeof vm.runInThisContext;

  return (...args: unknown[]) => {
    if (running === undefined) {
      console.error(...args);
    } else if (args[0] === FINDING_FORMAT) {
      const [, file, line, column, text] = args as [string, string, number, number, string];
      running.findings.push({ ...(file === "" ? {} : { file: file.trim() }), line, column, text });
      const { executor } = running;
      running.error = typeCellError(running.code, running.findings, (code, at) =>
        namesAt(executor, code, at),
      );
    } else {
      running.error = thrownCellError(args[0], running.code, running.count, maps.place);
    }
  };
}

/**
 * A socket sends one message at a time and refuses the next meanwhile: a cell's output beyond some 500 lines would be lost.
 * Sockets cannot be changed, so this stands before it.
 */
function sendingInTurn(socket: TslabSocket): TslabPublisher {
  let waiting = 0;
  let last: Promise<void> = Promise.resolve();
  const send = (frames: unknown): Promise<void> => {
    waiting += 1;
    // At once where nothing waits, so that a last message leaves before the socket is closed.
    const sent = waiting === 1 ? socket.send(frames) : last.then(() => socket.send(frames));
    last = sent
      .catch(() => {})
      .finally(() => {
        waiting -= 1;
      });
    return last;
  };
  return { send, close: () => socket.close() };
}

/** No kernel stays behind: not without a port, not after its shutdown, not without the program that started it. */
function endInGoodOrder(jupyter: TslabJupyter): void {
  const server = jupyter.ZmqServer.prototype;
  const { init, bindSocket, close } = server;
  server.init = async function () {
    try {
      await init.call(this);
    } catch (error) {
      process.stderr.write(
        `The kernel cannot listen: ${error instanceof Error ? error.message : String(error)}\n`,
      );
      process.exit(1);
    }
  };
  server.bindSocket = async function (socket, port) {
    if (socket === this.iopub) {
      // Without this the publisher drops messages once a thousand are waiting.
      socket.sendHighWaterMark = 0;
      this.iopub = sendingInTurn(socket);
    }
    await bindSocket.call(this, socket, port);
  };
  server.close = function () {
    close.call(this);
    // Timers and servers that cells left behind must not keep the process.
    setTimeout(() => process.exit(0), EXIT_GRACE_MS).unref();
  };
  if (process.env.JPY_PARENT_PID !== undefined && process.platform !== "win32") {
    // In a thread of its own: a cell that never ends holds up every timer of this one.
    new Worker(PARENT_WATCH, { eval: true, workerData: process.ppid }).unref();
  }
}

const PARENT_WATCH = `const parent = require("node:worker_threads").workerData;
setInterval(() => { if (process.ppid !== parent) process.kill(process.pid, "SIGKILL"); }, ${PARENT_CHECK_MS});`;
