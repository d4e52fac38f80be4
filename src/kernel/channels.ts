/**
 * The kernel's five sockets, in a thread of their own: they are served while a cell keeps the main thread busy, so that
 * output appears as it is printed, and interrupt, shutdown and heartbeat are answered at any time. Messages are checked
 * here, before anything else of the kernel sees them; what is not signed with the connection's key is dropped in silence.
 */
import { type MessagePort, workerData } from "node:worker_threads";
import { Publisher, Reply, Router, type Writable } from "zeromq";
import { addressOf, type Connection } from "./connection.js";
import {
  bodyOf,
  type Content,
  Gate,
  type Message,
  newMessage,
  type Received,
  replyType,
  signedFrames,
} from "./wire.js";

/** What the thread is given. */
export interface ChannelsData {
  readonly connection: Connection;
  /** Between this thread and the main one. */
  readonly port: MessagePort;
  /** The kernel's session, as its messages name it. */
  readonly session: string;
  /** The answer to `kernel_info_request`. */
  readonly info: Content;
  /** The process that started the kernel, where the kernel must not outlive it. */
  readonly parent?: number;
  /** Becomes 1 when every socket is closed. */
  readonly closed: Int32Array;
}

/** From the main thread: a message that goes out, or the end. */
export type ToChannels =
  | {
      readonly to: "shell" | "iopub";
      readonly identities: readonly Uint8Array[];
      readonly body: readonly string[];
    }
  | { readonly to: "end" };

/** To the main thread: a request on the shell, and what else happened. */
export type FromChannels =
  | { readonly what: "request"; readonly request: Received }
  | { readonly what: "interrupt" }
  | { readonly what: "shutdown" }
  | { readonly what: "failed"; readonly reason: string };

const LINGER_MS = 1000;
const PARENT_CHECK_MS = 1000;
/** For the main thread to end in good order; where a cell keeps it busy it is ended. */
const SHUTDOWN_GRACE_MS = 1000;

const { connection, port, session, info, parent, closed } = workerData as ChannelsData;
const { key } = connection;

/** A socket sends one message at a time and refuses the next meanwhile: this one has them wait. */
class Outlet {
  readonly #socket: Writable;
  last: Promise<unknown> = Promise.resolve();

  constructor(socket: Writable) {
    this.#socket = socket;
  }

  send(identities: readonly Uint8Array[], body: readonly string[]): void {
    const frames = [...identities, ...signedFrames(body, key)] as Buffer[];
    this.last = this.last.then(() => this.#socket.send(frames)).catch(() => {});
  }
}

// Without the high-water mark of 0 the publisher drops messages once a thousand are waiting.
const sockets = {
  iopub: new Publisher({ linger: LINGER_MS, sendHighWaterMark: 0 }),
  shell: new Router({ linger: LINGER_MS, sendHighWaterMark: 0 }),
  control: new Router({ linger: LINGER_MS }),
  stdin: new Router({ linger: 0 }),
  hb: new Reply({ linger: 0 }),
};
const outlets = {
  iopub: new Outlet(sockets.iopub),
  shell: new Outlet(sockets.shell),
  control: new Outlet(sockets.control),
};
const gate = new Gate(key);

function tell(news: FromChannels): void {
  port.postMessage(news);
}

function publishStatus(state: string, about?: Message): void {
  const message = newMessage("status", { execution_state: state }, { session, parent: about });
  outlets.iopub.send([Buffer.from("status")], bodyOf(message));
}

/** Hands on what may come in, until the socket is closed. */
async function listen(socket: Router, take: (received: Received) => void): Promise<void> {
  for await (const frames of socket) {
    const received = gate.admit(frames);
    if (received !== undefined) take(received);
  }
}

async function echo(): Promise<void> {
  for await (const frames of sockets.hb) await sockets.hb.send(frames);
}

/** Answers what must be answered even while a cell runs. */
function answer({ identities, message }: Received, outlet: Outlet): void {
  const type = message.header.msg_type;
  const content: Content | undefined = {
    kernel_info_request: info,
    interrupt_request: { status: "ok" },
    shutdown_request: { status: "ok", restart: message.content.restart === true },
  }[type];
  if (content === undefined) return;
  publishStatus("busy", message);
  const reply = newMessage(replyType(type), content, { session, parent: message });
  outlet.send(identities, bodyOf(reply));
  publishStatus("idle", message);
  if (type === "interrupt_request") interrupt();
  if (type === "shutdown_request") shutDown();
}

function interrupt(): void {
  // Only a signal reaches a cell that does not let go of the main thread; on Windows it would end the process.
  if (process.platform === "win32") tell({ what: "interrupt" });
  else process.kill(process.pid, "SIGINT");
}

function shutDown(): void {
  tell({ what: "shutdown" });
  setTimeout(() => process.kill(process.pid, "SIGKILL"), SHUTDOWN_GRACE_MS);
}

async function end(): Promise<void> {
  await Promise.all(Object.values(outlets).map(({ last }) => last));
  for (const socket of Object.values(sockets)) socket.close();
  port.close();
  // Once more round the loop, for those who waited for the sockets.
  await new Promise((done) => setImmediate(done));
  Atomics.store(closed, 0, 1);
  Atomics.notify(closed, 0);
}

port.on("message", (message: ToChannels) => {
  if (message.to === "end") end();
  else outlets[message.to].send(message.identities, message.body);
});

if (parent !== undefined) {
  setInterval(() => {
    if (process.ppid !== parent) process.kill(process.pid, "SIGKILL");
  }, PARENT_CHECK_MS);
}

const ports = {
  iopub: "iopub_port",
  shell: "shell_port",
  control: "control_port",
  stdin: "stdin_port",
  hb: "hb_port",
};
try {
  for (const [name, socket] of Object.entries(sockets)) {
    const number = connection[ports[name as keyof typeof ports] as keyof Connection];
    await socket.bind(addressOf(connection, number as number));
  }
} catch (error) {
  tell({ what: "failed", reason: error instanceof Error ? error.message : String(error) });
}
publishStatus("starting");
listen(sockets.shell, (request) => {
  if (request.message.header.msg_type === "shutdown_request") answer(request, outlets.shell);
  else tell({ what: "request", request });
});
listen(sockets.control, (request) => answer(request, outlets.control));
// This kernel asks nothing, so no answer is expected; what arrives all the same is taken off the socket.
listen(sockets.stdin, () => {});
echo();
