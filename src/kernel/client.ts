/**
 * Starts a notebook kernel of its own and talks to it: runs code, completes it, explains it, stops it.
 * The kernel listens on sockets in a folder that only its owner may enter, or, where the system has none, on this
 * computer only; it believes a key that nobody else knows, and never outlives this process.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { randomBytes, randomUUID } from "node:crypto";
import { once } from "node:events";
import { rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer, type Server } from "node:net";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import type { Dealer, Subscriber } from "zeromq";
import { PolewrightError } from "../errors.js";
import { newScratchFolder } from "../files/scratch.js";
import { tidyAtEnd } from "./cleanup.js";
import { addressOf, type Connection } from "./connection.js";
import { demandPackages } from "./kernel-packages.js";
import type { Environment } from "./kernelspec.js";
import { launcherPath } from "./launcher-path.js";
import { believed, bodyOf, type Message, newMessage, signedFrames } from "./wire.js";

const START_TIMEOUT_S = 60;
const START_ATTEMPTS = 3;
const SHUTDOWN_TIMEOUT_MS = 3000;
const INTERRUPT_TIMEOUT_MS = 2000;
const HANDSHAKE_MS = 200;
const RECONNECT_MS = 25;
/** The longest path of a socket that Linux takes is 107 bytes, macOS 103 (`sun_path` in sys/un.h). */
const LONGEST_SOCKET_PATH = 100;
const TAIL_LENGTH = 4000;

/** Why a kernel could not do what it was asked. */
export type KernelFault =
  | "kernel-start"
  | "kernel-died"
  | "kernel-timeout"
  | "kernel-interrupted"
  | "kernel-closed";

/** The kernel itself failed, as opposed to the code that it ran. */
export class KernelError extends PolewrightError {
  declare readonly code: KernelFault;
  /** The last that the kernel wrote to its standard error before that. */
  readonly stderrTail: string;
  constructor(code: KernelFault, message: string, stderrTail = "") {
    super(code, stderrTail.trim() === "" ? message : `${message} Its last words:\n${stderrTail.trim()}`);
    this.name = "KernelError";
    this.stderrTail = stderrTail;
  }
}

/** How a kernel is started; only the folder is needed. */
export interface KernelOptions {
  /** The folder in which the code runs: the notebook's. */
  readonly folder: string;
  /** Environment variables besides those of this process. */
  readonly env?: Environment;
  /** The kernel's script, by default this package's. */
  readonly launcher?: string;
  /** Further arguments for the script. */
  readonly launcherArguments?: readonly string[];
  /** How long the kernel may take to start, seconds. */
  readonly startTimeoutS?: number;
}

/** How code is run. */
export interface ExecuteOptions {
  /** Called for every message that the code brings forth: streams, displays, errors. */
  readonly onMessage?: (message: Message) => void;
  /** The cell's id, for code that wants to know in which cell it runs. */
  readonly cellId?: string;
  /** How long the code may take, seconds; without it, as long as it likes. */
  readonly timeoutS?: number | undefined;
  /** Stops the code. */
  readonly stop?: AbortSignal | undefined;
}

/** What the kernel says when code has ended. */
export interface ExecuteReply {
  readonly status: "ok" | "error" | "aborted";
  readonly executionCount: number | null;
}

/** A completion list: the matches replace the code from `start` to `end`. */
export interface Completion {
  readonly matches: readonly string[];
  readonly start: number;
  readonly end: number;
}

interface Pending {
  readonly resolve: (reply: Message) => void;
  readonly reject: (error: Error) => void;
  readonly onMessage: ((message: Message) => void) | undefined;
  reply?: Message;
  idle: boolean;
}

/**
 * Starts a kernel and waits until it answers.
 *
 * @param options - the folder, and what else may be wanted
 * @throws KernelError `kernel-start` where it does not come up
 * @example
 * ```ts
 * const kernel = await startKernel({ folder: "." });
 * await kernel.execute("1 + 1", { onMessage: (message) => console.log(message.content) });
 * await kernel.shutdown();
 * ```
 */
export async function startKernel(options: KernelOptions): Promise<Kernel> {
  for (let attempt = 1; ; attempt += 1) {
    const kernel = await Kernel.spawn(options);
    try {
      await kernel.greet(options.startTimeoutS ?? START_TIMEOUT_S);
      return kernel;
    } catch (error) {
      kernel.kill();
      // A port that was free a moment ago may have been taken by somebody else: try others.
      const taken = error instanceof KernelError && /in use/i.test(error.stderrTail);
      if (!taken || attempt >= START_ATTEMPTS) throw error;
    }
  }
}

/** A running kernel. Made by {@link startKernel}; ended by {@link Kernel.shutdown} or {@link Kernel.kill}. */
export class Kernel {
  readonly #process: ChildProcess;
  readonly #scratch: string;
  readonly #key: string;
  readonly #shell: Dealer;
  readonly #control: Dealer;
  readonly #iopub: Subscriber;
  readonly #session = randomUUID();
  readonly #pending = new Map<string, Pending>();
  readonly #takeBack: () => void;
  #tail = "";
  #ended: KernelError | undefined;

  private constructor(
    child: ChildProcess,
    scratch: string,
    connection: Connection,
    sockets: { shell: Dealer; control: Dealer; iopub: Subscriber },
  ) {
    this.#process = child;
    this.#scratch = scratch;
    this.#key = connection.key;
    this.#shell = sockets.shell;
    this.#control = sockets.control;
    this.#iopub = sockets.iopub;
    this.#takeBack = tidyAtEnd(() => this.#kill());
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding("utf8");
      stream?.on("data", (text: string) => {
        this.#tail = (this.#tail + text).slice(-TAIL_LENGTH);
      });
    }
    child.on("error", (error) =>
      this.#end(new KernelError("kernel-start", `The kernel cannot start: ${error.message}.`)),
    );
    // "close" comes after the streams have ended, so that the last words are complete.
    child.on("close", (code, signal) => {
      const how = signal === null ? `with exit code ${code}` : `by signal ${signal}`;
      this.#end(
        new KernelError("kernel-died", `The kernel ended ${how} before it had answered.`, this.#tail),
      );
    });
    this.#listen(this.#shell, (message) => this.#onReply(message));
    this.#listen(this.#control, (message) => this.#onReply(message));
    this.#listen(this.#iopub, (message) => this.#onPublished(message));
  }

  /** @internal */
  static async spawn(options: KernelOptions): Promise<Kernel> {
    demandPackages();
    // Loaded only here: the native library costs every command that starts no kernel. Found as the kernel finds it.
    const { Dealer, Subscriber } = createRequire(launcherPath)("zeromq") as typeof import("zeromq");
    const scratch = newScratchFolder("kernel");
    const connection = await newConnection(scratch);
    const file = join(scratch, "connection.json");
    writeFileSync(file, JSON.stringify(connection), { mode: 0o600 });
    const launcher = options.launcher ?? launcherPath;
    const child = spawn(process.execPath, [launcher, file, ...(options.launcherArguments ?? [])], {
      cwd: options.folder,
      env: { ...process.env, ...options.env, JPY_PARENT_PID: String(process.pid) },
      stdio: ["ignore", "pipe", "pipe"],
      windowsHide: true,
    });
    const address = (port: number) => addressOf(connection, port);
    const shell = new Dealer({ linger: 0, reconnectInterval: RECONNECT_MS });
    const control = new Dealer({ linger: 0, reconnectInterval: RECONNECT_MS });
    // No high-water mark: a notebook's output is kept whole, never dropped.
    const iopub = new Subscriber({ linger: 0, reconnectInterval: RECONNECT_MS, receiveHighWaterMark: 0 });
    shell.connect(address(connection.shell_port));
    control.connect(address(connection.control_port));
    iopub.connect(address(connection.iopub_port));
    iopub.subscribe();
    return new Kernel(child, scratch, connection, { shell, control, iopub });
  }

  /** The kernel's process, for whoever wants to watch it. */
  get processId(): number | undefined {
    return this.#process.pid;
  }

  /** @internal Waits until requests are answered and what is published arrives. */
  async greet(timeoutS: number): Promise<void> {
    const timer = new AbortController();
    const late = sleep(timeoutS * 1000, "late", { signal: timer.signal }).catch(() => "late");
    try {
      for (;;) {
        // Answered on the shell only until our subscription has reached the kernel: so ask until both arrive.
        const greeting = this.#request(this.#shell, "kernel_info_request", {}).then(() => "ready");
        const first = await Promise.race([greeting, late, sleep(HANDSHAKE_MS, "again")]);
        greeting.catch(() => {});
        if (first === "ready") {
          // The kernel has read it; where this process is killed, no key stays behind.
          rmSync(join(this.#scratch, "connection.json"), { force: true });
          return;
        }
        if (first === "late") {
          throw new KernelError(
            "kernel-start",
            `The kernel did not answer within ${timeoutS} s.`,
            this.#tail,
          );
        }
      }
    } catch (error) {
      if (error instanceof KernelError && error.code === "kernel-died") {
        throw new KernelError("kernel-start", "The kernel ended while it was starting.", error.stderrTail);
      }
      throw error;
    } finally {
      timer.abort();
    }
  }

  /**
   * Runs code and waits until all of its output has arrived.
   *
   * @param code - TypeScript
   * @param options - what to do with its output, and how long it may take
   * @throws KernelError `kernel-died` where the kernel ends meanwhile, `kernel-timeout` where the code takes too long,
   *   `kernel-interrupted` where it is told to stop; it is then interrupted, and the kernel killed where that does not help
   */
  async execute(code: string, options: ExecuteOptions = {}): Promise<ExecuteReply> {
    const content = {
      code,
      silent: false,
      store_history: true,
      user_expressions: {},
      allow_stdin: false,
      stop_on_error: true,
    };
    const metadata = options.cellId === undefined ? {} : { cellId: options.cellId };
    const request = this.#request(this.#shell, "execute_request", content, options.onMessage, metadata);
    const reply = await this.#within(request, options);
    const { status, execution_count } = reply.content as {
      status: ExecuteReply["status"];
      execution_count?: number;
    };
    return { status, executionCount: execution_count ?? null };
  }

  /**
   * Completes code at a place in it.
   *
   * @param code - TypeScript
   * @param position - where the cursor is, counted in characters from 0
   */
  async complete(code: string, position: number): Promise<Completion> {
    const { content } = await this.#request(this.#shell, "complete_request", { code, cursor_pos: position });
    return {
      matches: content.matches as string[],
      start: content.cursor_start as number,
      end: content.cursor_end as number,
    };
  }

  /**
   * What the kernel knows about the name at a place in code, as plain text; nothing where it knows nothing.
   *
   * @param code - TypeScript
   * @param position - where the cursor is, counted in characters from 0
   */
  async inspect(code: string, position: number): Promise<string | undefined> {
    const request = { code, cursor_pos: position, detail_level: 0 };
    const { content } = await this.#request(this.#shell, "inspect_request", request);
    return content.found === true ? (content.data as Record<string, string>)["text/plain"] : undefined;
  }

  /** Interrupts the code that runs; without effect where none does. */
  interrupt(): void {
    this.#request(this.#control, "interrupt_request", {}).catch(() => {});
  }

  /** Ends the kernel in good order, by force where it does not follow. Harmless when it has ended already. */
  async shutdown(): Promise<void> {
    if (this.#ended === undefined) {
      const gone = once(this.#process, "close");
      this.#request(this.#control, "shutdown_request", { restart: false }).catch(() => {});
      await Promise.race([gone, sleep(SHUTDOWN_TIMEOUT_MS, undefined, { ref: false })]);
    }
    this.kill();
  }

  /** Ends the kernel at once. */
  kill(): void {
    this.#end(new KernelError("kernel-closed", "The kernel was stopped."));
  }

  async #within(request: Promise<Message>, { timeoutS, stop }: ExecuteOptions): Promise<Message> {
    const done = new AbortController();
    const { signal } = done;
    const never = new Promise<never>(() => {});
    const late =
      timeoutS === undefined ? never : sleep(timeoutS * 1000, "late", { signal }).catch(() => never);
    const stopped = stop === undefined ? never : aborted(stop, signal);
    const first = await Promise.race([request, late, stopped]).finally(() => done.abort());
    if (typeof first === "object") return first;
    this.interrupt();
    const ended = await Promise.race([request, sleep(INTERRUPT_TIMEOUT_MS, undefined, { ref: false })]).catch(
      () => undefined,
    );
    if (ended === undefined) this.kill();
    request.catch(() => {});
    throw first === "late"
      ? new KernelError(
          "kernel-timeout",
          `The code was stopped after ${timeoutS} s, the time that it was given.`,
        )
      : new KernelError("kernel-interrupted", "The code was stopped.");
  }

  #request(
    socket: Dealer,
    type: string,
    content: Record<string, unknown>,
    onMessage?: (message: Message) => void,
    metadata: Record<string, unknown> = {},
  ): Promise<Message> {
    if (this.#ended !== undefined) return Promise.reject(this.#ended);
    const message = newMessage(type, content, { session: this.#session, metadata });
    const frames = signedFrames(bodyOf(message), this.#key);
    return new Promise((resolve, reject) => {
      this.#pending.set(message.header.msg_id, { resolve, reject, onMessage, idle: false });
      socket.send(frames).catch(reject);
    });
  }

  async #listen(socket: Dealer | Subscriber, onMessage: (message: Message) => void): Promise<void> {
    try {
      for await (const frames of socket) {
        const received = believed(frames as Buffer[], this.#key);
        if (received !== undefined) onMessage(received.message);
      }
    } catch (error) {
      // A socket that is closed under the loop is the usual end; anything else ends the kernel with its reason.
      const reason = error instanceof Error ? error.message : String(error);
      this.#end(
        new KernelError("kernel-closed", `The connection to the kernel broke: ${reason}`, this.#tail),
      );
    }
  }

  #onReply(message: Message): void {
    const pending = this.#pending.get(message.parent?.msg_id ?? "");
    if (pending === undefined) return;
    pending.reply = message;
    this.#settle(message.parent!.msg_id, pending);
  }

  #onPublished(message: Message): void {
    const pending = this.#pending.get(message.parent?.msg_id ?? "");
    if (pending === undefined) return;
    if (message.header.msg_type === "status") {
      if (message.content.execution_state === "idle") {
        pending.idle = true;
        this.#settle(message.parent!.msg_id, pending);
      }
      return;
    }
    pending.onMessage?.(message);
  }

  #settle(id: string, pending: Pending): void {
    // Reply and idle come over two sockets, in either order; only with both is the output complete.
    if (pending.reply === undefined || !pending.idle) return;
    this.#pending.delete(id);
    pending.resolve(pending.reply);
  }

  #end(reason: KernelError): void {
    if (this.#ended !== undefined) return;
    this.#ended = reason;
    this.#takeBack();
    this.#kill();
    for (const socket of [this.#shell, this.#control, this.#iopub]) socket.close();
    for (const pending of this.#pending.values()) pending.reject(reason);
    this.#pending.clear();
  }

  #kill(): void {
    if (this.#process.exitCode === null && this.#process.signalCode === null) this.#process.kill("SIGKILL");
    rmSync(this.#scratch, { recursive: true, force: true });
  }
}

/** Fulfilled when a signal is given; `until` ends the wait. */
async function aborted(given: AbortSignal, until: AbortSignal): Promise<"stopped"> {
  if (!given.aborted) await once(given, "abort", { signal: until }).catch(() => new Promise<never>(() => {}));
  return "stopped";
}

/** Sockets in the kernel's own folder, else on ports of this computer: Windows has none, and a path may be too long. */
async function newConnection(scratch: string): Promise<Connection> {
  const signing = { key: randomBytes(32).toString("hex"), signature_scheme: "hmac-sha256" };
  const path = join(scratch, "socket");
  const inFolder =
    process.platform !== "win32" && Buffer.byteLength(path) + "-5".length <= LONGEST_SOCKET_PATH;
  const [shell_port, iopub_port, stdin_port, control_port, hb_port] = inFolder
    ? [1, 2, 3, 4, 5]
    : await freePorts(5);
  return {
    ...(inFolder ? { transport: "ipc", ip: path } : { transport: "tcp", ip: "127.0.0.1" }),
    shell_port: shell_port!,
    iopub_port: iopub_port!,
    stdin_port: stdin_port!,
    control_port: control_port!,
    hb_port: hb_port!,
    ...signing,
  };
}

/** Ports on this computer that nobody listens on now. All are held until all are found, so that they differ. */
async function freePorts(count: number): Promise<number[]> {
  const servers: Server[] = [];
  try {
    for (let index = 0; index < count; index += 1) {
      const server = createServer().listen(0, "127.0.0.1");
      servers.push(server);
      await once(server, "listening");
    }
    return servers.map((server) => (server.address() as { port: number }).port);
  } finally {
    await Promise.all(servers.map((server) => new Promise((done) => server.close(done))));
  }
}
