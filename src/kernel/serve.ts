/**
 * A notebook's kernel: its channels in a thread of their own, tslab for compiling and running, and what a notebook of
 * this package needs besides: the package itself, and an end in good order.
 */
import { randomUUID } from "node:crypto";
import { writeSync } from "node:fs";
import Module, { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { MessageChannel, receiveMessageOnPort, Worker } from "node:worker_threads";
import { CellMaps, partedMap, withoutMapLink } from "./cell-map.js";
import { Cells } from "./cells.js";
import type { ChannelsData, FromChannels, ToChannels } from "./channels.js";
import type { Connection } from "./connection.js";
import {
  type FolderLink,
  packageRoot,
  type Resolve,
  resolveWithLink,
  showLinks,
  slashed,
  watchLess,
} from "./package-link.js";
import { type Channels, KernelServer } from "./server.js";
import {
  loadTypeScript,
  resolveAsTslab,
  TSLAB_FOLDER,
  type TslabSystem,
  type TslabTimer,
  tslabVersions,
} from "./tslab.js";
import { type Content, PROTOCOL_VERSION, type Received } from "./wire.js";

const PACKAGE = "polewright";
/** For what is on its way out when the process ends. */
const LAST_WORDS_MS = 2000;

/** Where the kernel runs. */
export interface ServeOptions {
  readonly connection: Connection;
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
  const session = randomUUID();
  const info = kernelInfo();
  // While the sockets are made, TypeScript is loaded.
  const { channels, listen } = openChannels({ connection: options.connection, session, info });
  const maps = new CellMaps();
  quietAboutModules();
  prepareTypeScript(options, maps);
  const cells = new Cells(options.notebookFolder, maps);
  const server = new KernelServer(channels, cells, session, info);
  process.on("SIGINT", () => cells.interrupt());
  cells.takeConsole();
  listen((news) => {
    if (news.what === "request") server.receive(news.request);
    else if (news.what === "interrupt") cells.interrupt();
    // Timers and servers that cells left behind do not keep the process.
    else if (news.what === "shutdown") process.exit(0);
    else {
      writeSync(2, `The kernel cannot listen: ${news.reason}\n`);
      process.exit(1);
    }
  });
}

type Listener = (news: FromChannels) => void;

/** Starts the thread of the sockets. However the process ends, the sockets are closed first, and what waits is sent. */
function openChannels(about: Omit<ChannelsData, "port" | "closed">): {
  readonly channels: Channels;
  listen(listener: Listener): void;
} {
  const { port1: port, port2 } = new MessageChannel();
  const closed = new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT));
  const mayOutlive = process.env.JPY_PARENT_PID === undefined || process.platform === "win32";
  const data: ChannelsData = {
    ...about,
    port: port2,
    closed,
    ...(mayOutlive ? {} : { parent: process.ppid }),
  };
  new Worker(new URL("./channels.js", import.meta.url), { workerData: data, transferList: [port2] });
  const post = (message: ToChannels): void => port.postMessage(message);
  process.on("exit", () => {
    post({ to: "end" });
    Atomics.wait(closed, 0, 0, LAST_WORDS_MS);
  });
  const channels: Channels = {
    send: (to, identities, body) => post({ to, identities, body }),
    waiting: () => {
      const requests: Received[] = [];
      for (let next = receiveMessageOnPort(port); next !== undefined; next = receiveMessageOnPort(port)) {
        const news = next.message as FromChannels;
        if (news.what === "request") requests.push(news.request);
        else listener?.(news);
      }
      return requests;
    },
  };
  let listener: Listener | undefined;
  const listen = (chosen: Listener): void => {
    listener = chosen;
    port.on("message", chosen);
  };
  return { channels, listen };
}

/** What the kernel says of itself. */
function kernelInfo(): Content {
  const { version } = createRequire(import.meta.url)("../../package.json") as { version: string };
  const { tslab, typescript } = tslabVersions();
  return {
    status: "ok",
    protocol_version: PROTOCOL_VERSION,
    implementation: PACKAGE,
    implementation_version: version,
    language_info: {
      name: "typescript",
      version: typescript,
      mimetype: "text/typescript",
      file_extension: ".ts",
      pygments_lexer: "typescript",
      // JupyterLab colours by the mode, the classic Notebook by the name together with the flag.
      codemirror_mode: { mode: "typescript", name: "javascript", typescript: true },
    },
    banner: `Polewright ${version}: TypeScript ${typescript} in Node.js ${process.versions.node}, by tslab ${tslab}`,
    debugger: false,
    help_links: [],
  };
}

/** Has tslab's TypeScript see the package, watch less, and keep its maps from compiled code to cells. */
function prepareTypeScript({ notebookFolder, ownRoot }: ServeOptions, maps: CellMaps): void {
  const root = packageRoot(PACKAGE, notebookFolder, ownRoot);
  linkPackage(root);
  loadTypeScript((typescript) => {
    showLinks(typescript.sys, typeLinks(root, notebookFolder));
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
