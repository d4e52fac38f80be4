/**
 * The kernel's side of the Jupyter messaging protocol: requests in, answers and what cells bring forth out.
 *
 * Source: "Messaging in Jupyter", version 5.3 (jupyter-client.readthedocs.io).
 */
import type { CellError } from "./cell-error.js";
import type { CellOutput, CellRun } from "./cells.js";
import { History } from "./history.js";
import { helpWanted, type Language } from "./language.js";
import { bodyOf, type Content, type Message, newMessage, type Received, replyType } from "./wire.js";

/** The way to the sockets. */
export interface Channels {
  send(to: "shell" | "iopub", identities: readonly Uint8Array[], body: readonly string[]): void;
  /** The requests that have come in and were not handed over yet. */
  waiting(): readonly Received[];
}

/** What runs code, and knows about it. */
export interface CodeRunner {
  readonly language: Pick<Language, "complete" | "explain" | "judge">;
  run(cell: CellRun): Promise<CellError | undefined>;
}

/** How code is to be run; what a client leaves out is as the protocol says. */
interface ExecuteRequest {
  readonly code: string;
  readonly silent?: boolean;
  readonly store_history?: boolean;
  readonly user_expressions?: Readonly<Record<string, string>>;
  readonly stop_on_error?: boolean;
}

type Asked = { readonly code: string; readonly cursor_pos: number };

export class KernelServer {
  readonly #channels: Channels;
  readonly #cells: CodeRunner;
  readonly #session: string;
  readonly #history = new History();
  readonly #answers: Readonly<Record<string, (content: Content) => Content>>;
  #queue: Received[] = [];
  #aborted: readonly Received[] = [];
  #busy = false;
  #count = 0;

  /**
   * @param channels - the way to the sockets
   * @param cells - what runs code
   * @param session - the name of the kernel's session
   * @param info - the answer to `kernel_info_request`
   */
  constructor(channels: Channels, cells: CodeRunner, session: string, info: Content) {
    this.#channels = channels;
    this.#cells = cells;
    this.#session = session;
    const { language } = cells;
    this.#answers = {
      kernel_info_request: () => info,
      complete_request: (content) => {
        const { code, cursor_pos: cursor } = content as Asked;
        const { matches, start, end } = language.complete(code, cursor);
        return { status: "ok", matches, cursor_start: start, cursor_end: end, metadata: {} };
      },
      inspect_request: (content) => {
        const { code, cursor_pos: cursor } = content as Asked;
        const text = language.explain(code, cursor);
        const found = text !== "";
        return { status: "ok", found, data: found ? { "text/plain": text } : {}, metadata: {} };
      },
      is_complete_request: ({ code }) => ({ ...language.judge(code as string) }),
      history_request: (content) => ({ status: "ok", history: this.#history.told(content) }),
      comm_info_request: () => ({ status: "ok", comms: {} }),
    };
  }

  /** Takes a request; it is answered at once, or, where code is to run, in its turn. */
  receive(request: Received): void {
    const { message } = request;
    const type = message.header.msg_type;
    if (type === "execute_request") {
      this.#queue.push(request);
      this.#runQueue();
    } else if (type === "comm_open") {
      // There is nobody to talk to here, and the other side shall know.
      this.#publish("comm_close", { comm_id: message.content.comm_id, data: {} }, message);
    } else if (Object.hasOwn(this.#answers, type)) {
      const answer = this.#answers[type]!;
      this.#around(message, () => {
        let content: Content;
        try {
          content = answer(message.content);
        } catch (problem) {
          content = failure(problem);
        }
        this.#reply(request, content);
      });
    }
  }

  async #runQueue(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    for (let request = this.#queue.shift(); request !== undefined; request = this.#queue.shift()) {
      await this.#around(request.message, () =>
        this.#execute(request).catch((problem) => this.#fail(request, failure(problem))),
      );
      this.#abort();
    }
    this.#busy = false;
  }

  /** Answers that code failed. What waits by now is not run, for its sender did not know; what comes later is. */
  #fail(request: Received, content: Content): void {
    if (request.message.content.stop_on_error !== false) {
      for (const one of this.#channels.waiting()) this.receive(one);
      this.#aborted = this.#queue;
      this.#queue = [];
    }
    this.#reply(request, content);
  }

  #abort(): void {
    for (const request of this.#aborted) {
      this.#around(request.message, () => this.#reply(request, { status: "aborted" }));
    }
    this.#aborted = [];
  }

  async #execute(request: Received): Promise<void> {
    const { message } = request;
    const {
      code,
      silent = false,
      store_history: store = !silent,
      user_expressions,
    } = message.content as unknown as ExecuteRequest;
    if (typeof code !== "string") throw new TypeError("execute_request without code");
    const kept = store && !silent;
    if (kept) this.#count += 1;
    const execution_count = this.#count;
    if (!silent) this.#publish("execute_input", { code, execution_count }, message);
    const help = helpWanted(code);
    if (help !== undefined) return this.#help(request, help);

    let result: string | null = null;
    const output = this.#outputOf(message, (data) => {
      result = String(data["text/plain"] ?? "");
      this.#publish("execute_result", { execution_count, data, metadata: {} }, message);
    });
    const { cellId } = message.metadata;
    const error = await this.#cells.run({
      code,
      count: execution_count,
      id: typeof cellId === "string" ? cellId : undefined,
      output: silent ? MUTE : output,
      lasting: !silent,
    });
    if (kept) this.#history.add({ line: execution_count, input: code, output: result });
    if (error !== undefined) {
      if (!silent) this.#publish("error", { ...error }, message);
      this.#fail(request, { status: "error", execution_count, ...error });
      return;
    }
    const expressions = await this.#expressions(user_expressions ?? {});
    this.#reply(request, { status: "ok", execution_count, payload: [], user_expressions: expressions });
  }

  /** A cell such as `fitMount?` is answered with the explanation, which Jupyter shows beside the notebook. */
  #help(request: Received, name: string): void {
    const execution_count = this.#count;
    const text = this.#cells.language.explain(name, [...name].length);
    if (text === "") {
      const evalue = `Nothing is known here under the name ${name}.`;
      const error = { ename: "Unknown", evalue, traceback: [evalue] };
      this.#publish("error", error, request.message);
      this.#fail(request, { status: "error", execution_count, ...error });
      return;
    }
    const payload = [{ source: "page", data: { "text/plain": text }, start: 0 }];
    this.#reply(request, { status: "ok", execution_count, payload, user_expressions: {} });
  }

  async #expressions(wanted: Readonly<Record<string, string>>): Promise<Content> {
    const values: Record<string, Content> = {};
    for (const [name, code] of Object.entries(wanted)) {
      let data: Content = { "text/plain": "undefined" };
      const output = { ...MUTE, result: (found: Content) => (data = found) };
      const error = await this.#cells.run({
        code,
        count: this.#count,
        id: undefined,
        output,
        lasting: false,
      });
      values[name] =
        error === undefined ? { status: "ok", data, metadata: {} } : { status: "error", ...error };
    }
    return values;
  }

  #outputOf(message: Message, result: (data: Content) => void): CellOutput {
    return {
      stream: (name, text) => this.#publish("stream", { name, text }, message),
      display: (content, update) =>
        this.#publish(update ? "update_display_data" : "display_data", content, message),
      clear: () => this.#publish("clear_output", { wait: false }, message),
      result,
    };
  }

  /** Every request is answered between the words that the kernel is busy and that it is idle again. */
  #around<Done>(message: Message, work: () => Done): Done {
    const status = (state: string) => this.#publish("status", { execution_state: state }, message);
    status("busy");
    const done = work();
    if (done instanceof Promise) done.finally(() => status("idle"));
    else status("idle");
    return done;
  }

  #publish(type: string, content: Content, parent: Message): void {
    const message = newMessage(type, content, { session: this.#session, parent });
    this.#channels.send("iopub", [Buffer.from(type)], bodyOf(message));
  }

  #reply({ identities, message: parent }: Received, content: Content): void {
    const type = replyType(parent.header.msg_type);
    this.#channels.send(
      "shell",
      identities,
      bodyOf(newMessage(type, content, { session: this.#session, parent })),
    );
  }
}

const MUTE: CellOutput = { stream: () => {}, display: () => {}, result: () => {}, clear: () => {} };

function failure(problem: unknown): Content {
  const evalue = problem instanceof Error ? problem.message : String(problem);
  return { status: "error", ename: "KernelError", evalue, traceback: [evalue] };
}
