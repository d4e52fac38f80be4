/**
 * A stranger on this computer, without the key: sends forged requests, reads what the kernel publishes, tries again with
 * what was to be found there. Nothing of it may run, and the kernel may not say a word about it.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, readdirSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { beforeAll, describe, expect, it, onTestFinished } from "vitest";
import { Dealer, Subscriber } from "zeromq";
import { startKernel } from "../../src/kernel/client.js";
import { addressOf, type Connection } from "../../src/kernel/connection.js";
import { believed, bodyOf, newMessage, signature, signedFrames } from "../../src/kernel/wire.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { eventually, fixturePackage, testFolder } from "./support.js";

const KEY = "0123456789abcdef".repeat(4);
const LISTEN_MS = 400;

let launcher: string;
beforeAll(async () => {
  launcher = await built("kernel/launcher.js");
}, BUILD_TIMEOUT_MS);

async function freePort(): Promise<number> {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address() as { port: number };
  server.close();
  await once(server, "close");
  return port;
}

/** A kernel as Jupyter starts it. */
async function kernelAsInJupyter(
  connection: Omit<Connection, "key" | "signature_scheme">,
): Promise<{ connection: Connection; child: ChildProcess; said: () => string }> {
  const folder = testFolder();
  const file = join(folder, "kernel-1.json");
  const whole = { ...connection, key: KEY, signature_scheme: "hmac-sha256" };
  writeFileSync(file, JSON.stringify(whole), { mode: 0o600 });
  const child = spawn(process.execPath, [launcher, file, fixturePackage], { cwd: folder });
  onTestFinished(async () => {
    child.kill("SIGKILL");
    if (child.exitCode === null && child.signalCode === null) await once(child, "exit");
  });
  let said = "";
  for (const stream of [child.stdout, child.stderr]) {
    stream.on("data", (text) => {
      said += text;
    });
  }
  return { connection: whole, child, said: () => said };
}

/** Somebody who knows the ports, with or without the key; hears all that is published. */
function visitor(connection: Connection) {
  const heard: Buffer[][] = [];
  const answered: Buffer[][] = [];
  const iopub = new Subscriber({ linger: 0 });
  iopub.connect(addressOf(connection, connection.iopub_port));
  iopub.subscribe();
  const channels = Object.fromEntries(
    (["shell", "control", "stdin"] as const).map((name) => {
      const socket = new Dealer({ linger: 0 });
      socket.connect(addressOf(connection, connection[`${name}_port`]));
      return [name, socket];
    }),
  ) as Record<"shell" | "control" | "stdin", Dealer>;
  const sockets = [iopub, ...Object.values(channels)];
  for (const socket of sockets) {
    const into = socket === iopub ? heard : answered;
    (async () => {
      for await (const frames of socket) into.push(frames as Buffer[]);
    })();
  }
  onTestFinished(() => {
    for (const socket of sockets) socket.close();
  });
  return { heard, answered, channels };
}

const requestBody = (type: string, content: object): string[] =>
  bodyOf(newMessage(type, content as Record<string, unknown>, { session: "stranger" }));

async function greeted(owner: ReturnType<typeof visitor>): Promise<void> {
  for (let tries = 0; tries < 200 && owner.heard.length === 0; tries += 1) {
    await owner.channels.shell.send(signedFrames(requestBody("kernel_info_request", {}), KEY));
    await sleep(100);
  }
}

async function runs(owner: ReturnType<typeof visitor>, code: string): Promise<boolean> {
  const body = requestBody("execute_request", { code });
  const id = JSON.parse(body[0]!).msg_id;
  await owner.channels.shell.send(signedFrames(body, KEY));
  return eventually(() =>
    owner.answered.some((frames) => {
      const message = believed(frames, KEY)?.message;
      return message?.parent?.msg_id === id && message?.content.status === "ok";
    }),
  );
}

async function attack(connection: Connection): Promise<void> {
  // From the first cell on, what the process prints is published: so the owner goes first.
  const owner = visitor(connection);
  await greeted(owner);
  expect(await runs(owner, "'first'")).toBe(true);
  const stranger = visitor(connection);
  await sleep(LISTEN_MS);
  const spoils = join(testFolder(), "spoils");
  const code = `require("node:fs").writeFileSync(${JSON.stringify(spoils)}, "")`;
  const forged = [
    requestBody("execute_request", { code, silent: false, store_history: true, stop_on_error: true }),
    requestBody("shutdown_request", { restart: false }),
    requestBody("interrupt_request", {}),
    requestBody("input_reply", { value: code }),
  ];
  const framed = (given: string, body: readonly string[]) =>
    ["<IDS|MSG>", given, ...body].map((text) => Buffer.from(text));
  const everywhere = async (frames: Buffer[]) => {
    for (const socket of Object.values(stranger.channels)) await socket.send(frames);
  };
  for (const body of forged) {
    for (const given of ["", "0".repeat(64), "é".repeat(32), signature("another key", body)])
      await everywhere(framed(given, body));
  }
  for (const broken of [["<IDS|MSG>"], ["x"], ["<IDS|MSG>", "y"], ["<IDS|MSG>", "", "{", "[]", "1", "null"]])
    await everywhere(broken.map((text) => Buffer.from(text)));
  // The owner works on, so that anything waiting to be published is.
  expect(await runs(owner, "console.log('the owner')")).toBe(true);
  await sleep(LISTEN_MS);

  const published = stranger.heard.map((frames) => Buffer.concat(frames).toString("latin1")).join("\n");
  expect(published).toContain("the owner");
  for (const body of forged) expect(published).not.toContain(signature(KEY, body));
  expect(published).not.toContain(KEY);
  // Whatever looks like a signature is tried, and whatever was published is sent back as it is.
  const overheard = [...new Set(published.match(/[0-9a-f]{64}/g) ?? [])];
  for (const given of overheard) await everywhere(framed(given, forged[0]!));
  for (const frames of stranger.heard) await everywhere(frames.slice(1));
  await sleep(LISTEN_MS);
  expect(existsSync(spoils)).toBe(false);
  expect(stranger.answered).toEqual([]);
  expect(await runs(owner, "'still here'")).toBe(true);
  // A request of the owner's that was overheard all the same is not run again.
  const once = signedFrames(
    requestBody("execute_request", { code: "globalThis.runs = (globalThis.runs ?? 0) + 1" }),
    KEY,
  );
  await owner.channels.shell.send(once);
  await stranger.channels.shell.send(once);
  expect(await runs(owner, "if (globalThis.runs !== 1) throw new Error()")).toBe(true);
}

describe("a stranger without the key", () => {
  it("gets nothing from a kernel as Jupyter starts it", async () => {
    const [shell_port, iopub_port, stdin_port, control_port, hb_port] = await Promise.all(
      Array.from({ length: 5 }, freePort),
    );
    const { connection, child, said } = await kernelAsInJupyter({
      transport: "tcp",
      ip: "127.0.0.1",
      shell_port: shell_port!,
      iopub_port: iopub_port!,
      stdin_port: stdin_port!,
      control_port: control_port!,
      hb_port: hb_port!,
    });
    await attack(connection);
    expect(child.exitCode).toBeNull();
    expect(said()).toBe("");
  });

  it.skipIf(process.platform === "win32")(
    "gets nothing on sockets of the file system either",
    async () => {
      const ip = join(testFolder(), "kernel-1-ipc");
      const ports = { shell_port: 1, iopub_port: 2, stdin_port: 3, control_port: 4, hb_port: 5 };
      const { connection, child, said } = await kernelAsInJupyter({ transport: "ipc", ip, ...ports });
      await greeted(visitor(connection));
      await attack(connection);
      expect(child.exitCode).toBeNull();
      expect(said()).toBe("");
    },
    60_000,
  );

  // Only the superuser can become somebody else for the test.
  it.skipIf(process.getuid?.() !== 0)(
    "who is another user does not even reach the kernel of a run",
    async () => {
      const before = readdirSync(tmpdir());
      const kernel = await startKernel({
        folder: testFolder(),
        launcher,
        launcherArguments: [fixturePackage],
      });
      try {
        const own = readdirSync(tmpdir()).filter(
          (name) => name.startsWith(`polewright-kernel-${process.pid}-`) && !before.includes(name),
        );
        expect(own).toHaveLength(1);
        const knock = (port: number) =>
          `await new Promise((done) => require("node:net").connect(${JSON.stringify(join(tmpdir(), own[0]!))} + "/socket-${port}")
          .on("connect", () => done(console.log("in"))).on("error", (error) => done(console.log(error.code))));`;
        const program = `(async () => { ${[1, 2, 3, 4, 5].map(knock).join("\n")} process.exit(); })()`;
        const outcome = async (uid: number) => {
          const child = spawn(process.execPath, ["-e", program], { uid, gid: uid, cwd: "/" });
          let said = "";
          child.stdout.on("data", (text) => {
            said += text;
          });
          await once(child, "close");
          return said.trim().split("\n");
        };
        const NOBODY = 65_534;
        expect(await outcome(0)).toEqual(Array(5).fill("in"));
        expect(await outcome(NOBODY)).toEqual(Array(5).fill("EACCES"));
      } finally {
        await kernel.shutdown();
      }
    },
  );
});
