import { describe, expect, it } from "vitest";
import type { CellError } from "../../src/kernel/cell-error.js";
import type { CellRun } from "../../src/kernel/cells.js";
import { KernelServer } from "../../src/kernel/server.js";
import { newMessage, type Received } from "../../src/kernel/wire.js";

const language = {
  complete: () => {
    throw new Error("the completer fell");
  },
  explain: (code: string) => (code === "sight" ? "sight(star): notes a sighting" : ""),
  judge: () => ({ status: "complete" }) as const,
};
const failed: CellError = { ename: "Error", evalue: "on purpose", traceback: ["Error: on purpose"] };

/** A server over sockets and cells that are plain data; a cell's code says what it does. */
function server() {
  const sent: { to: string; type: string; about: string; content: Record<string, unknown> }[] = [];
  let waiting: Received[] = [];
  const channels = {
    send: (to: string, _: unknown, body: readonly string[]) => {
      const [header, parent, , content] = body.map((part) => JSON.parse(part));
      sent.push({ to, type: header.msg_type, about: parent.msg_id, content });
    },
    waiting: () => waiting.splice(0),
  };
  const run = async ({ code, output }: CellRun) => {
    output.stream("stdout", `ran ${code}`);
    if (code === "fail") return failed;
    if (code === "value") output.result({ "text/plain": "5" });
    return undefined;
  };
  const request = (type: string, content: Record<string, unknown>): Received => ({
    identities: [Buffer.from("client")],
    message: newMessage(type, content, { session: "client" }),
  });
  return {
    sent,
    request,
    server: new KernelServer(channels, { language, run }, "kernel", { status: "ok" }),
    wait: (requests: Received[]) => {
      waiting = requests;
    },
    told: (one: Received, to = "shell") =>
      sent.filter(({ to: channel, about }) => channel === to && about === one.message.header.msg_id),
  };
}

const settled = () => new Promise((done) => setTimeout(done, 5));

describe("the kernel's side of the protocol", () => {
  it("says busy, what is run, what comes of it, and idle, and answers", async () => {
    const one = server();
    const asked = one.request("execute_request", { code: "value" });
    one.server.receive(asked);
    await settled();
    expect(one.told(asked, "iopub").map(({ type, content }) => [type, content])).toEqual([
      ["status", { execution_state: "busy" }],
      ["execute_input", { code: "value", execution_count: 1 }],
      ["stream", { name: "stdout", text: "ran value" }],
      ["execute_result", { execution_count: 1, data: { "text/plain": "5" }, metadata: {} }],
      ["status", { execution_state: "idle" }],
    ]);
    expect(one.told(asked)).toMatchObject([
      { type: "execute_reply", content: { status: "ok", execution_count: 1, payload: [] } },
    ]);
  });

  it("does not run what waits when a cell fails, and runs what comes later", async () => {
    const one = server();
    const [first, queued, unread, later] = ["fail", "queued", "unread", "later"].map((code) =>
      one.request("execute_request", { code }),
    ) as [Received, Received, Received, Received];
    const asked = one.request("kernel_info_request", {});
    one.wait([unread, asked]);
    one.server.receive(first);
    one.server.receive(queued);
    await settled();
    one.server.receive(later);
    await settled();
    expect(one.told(first)).toMatchObject([{ content: { status: "error", ...failed } }]);
    for (const aborted of [queued, unread]) {
      expect(one.told(aborted)).toMatchObject([{ type: "execute_reply", content: { status: "aborted" } }]);
      expect(one.told(aborted, "iopub").map(({ content }) => content.execution_state)).toEqual([
        "busy",
        "idle",
      ]);
    }
    expect(one.told(asked)).toMatchObject([{ type: "kernel_info_reply" }]);
    expect(one.told(later)).toMatchObject([{ content: { status: "ok", execution_count: 2 } }]);
  });

  it("goes on after an error where the client asked for that", async () => {
    const one = server();
    const first = one.request("execute_request", { code: "fail", stop_on_error: false });
    const next = one.request("execute_request", { code: "next" });
    one.server.receive(first);
    one.server.receive(next);
    await settled();
    expect(one.told(first)).toMatchObject([{ content: { status: "error" } }]);
    expect(one.told(next)).toMatchObject([{ content: { status: "ok" } }]);
  });

  it("answers a name with a question mark by its explanation", async () => {
    const one = server();
    const known = one.request("execute_request", { code: " sight? " });
    const unknown = one.request("execute_request", { code: "sihgt?" });
    one.server.receive(known);
    await settled();
    one.server.receive(unknown);
    await settled();
    expect(one.told(known)).toMatchObject([
      { content: { payload: [{ source: "page", data: { "text/plain": "sight(star): notes a sighting" } }] } },
    ]);
    expect(one.told(unknown)).toMatchObject([
      { content: { status: "error", evalue: expect.stringContaining("sihgt") } },
    ]);
  });

  it("answers in every case: a request that cannot be met, code that is none, a comm that nobody takes", async () => {
    const one = server();
    const complete = one.request("complete_request", { code: "", cursor_pos: 0 });
    const bare = one.request("execute_request", {});
    const comm = one.request("comm_open", { comm_id: "7", target_name: "jupyter.widget", data: {} });
    const strange = one.request("constructor", {});
    for (const asked of [complete, bare, comm, strange]) one.server.receive(asked);
    await settled();
    expect(one.told(complete)).toMatchObject([
      { content: { status: "error", evalue: "the completer fell" } },
    ]);
    expect(one.told(bare)).toMatchObject([{ type: "execute_reply", content: { status: "error" } }]);
    expect(one.told(comm, "iopub")).toMatchObject([{ type: "comm_close", content: { comm_id: "7" } }]);
    expect([...one.told(strange), ...one.told(strange, "iopub")]).toEqual([]);
  });

  it("publishes nothing of what is to be silent, and does not count it", async () => {
    const one = server();
    const silent = one.request("execute_request", { code: "value", silent: true });
    one.server.receive(silent);
    await settled();
    expect(one.told(silent, "iopub").map(({ type }) => type)).toEqual(["status", "status"]);
    expect(one.told(silent)).toMatchObject([{ content: { status: "ok", execution_count: 0 } }]);
  });
});
