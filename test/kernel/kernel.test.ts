import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync, mkdirSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { newScratchFolder } from "../../src/files/scratch.js";
import type { CellError } from "../../src/kernel/cell-error.js";
import { type Kernel, type KernelOptions, startKernel } from "../../src/kernel/client.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { eventually, fixturePackage, isAlive, scratchFolder, testFolder } from "./support.js";

/** What a cell brought forth, as far as the tests look at it. */
interface Ran {
  status: string;
  stdout: string;
  stderr: string;
  /** The value of the last expression as text. */
  result: string;
  displays: Record<string, string>[];
  error: CellError | undefined;
}

async function run(kernel: Kernel, code: string, cellId?: string): Promise<Ran> {
  const ran: Ran = { status: "", stdout: "", stderr: "", result: "", displays: [], error: undefined };
  const reply = await kernel.execute(code, {
    ...(cellId === undefined ? {} : { cellId }),
    onMessage: ({ header, content }) => {
      if (header.msg_type === "stream") ran[content.name as "stdout"] += content.text;
      if (header.msg_type === "display_data") ran.displays.push(content.data as Record<string, string>);
      if (header.msg_type === "execute_result")
        ran.result = (content.data as Record<string, string>)["text/plain"]!;
      if (header.msg_type === "error") ran.error = content as unknown as CellError;
    },
  });
  return { ...ran, status: reply.status };
}

let options: Omit<KernelOptions, "folder">;
beforeAll(async () => {
  options = { launcher: await built("kernel/launcher.js"), launcherArguments: [fixturePackage] };
}, BUILD_TIMEOUT_MS);

/** Connection files and the like that this process's kernels keep for as long as they run. */
const scratchFolders = () => readdirSync(tmpdir()).filter((name) => name.startsWith("polewright-kernel-"));

describe("a notebook's kernel", () => {
  const folder = scratchFolder();
  let kernel: Kernel;
  beforeAll(async () => {
    kernel = await startKernel({ ...options, folder, env: { POLEWRIGHT_TEST: "given" } });
    await run(kernel, 'import { HALF_TURN, inNotebook, show, sight } from "polewright";');
  }, BUILD_TIMEOUT_MS);
  afterAll(async () => {
    await kernel?.shutdown();
    rmSync(folder, { recursive: true, force: true });
  });

  it("has the package in a folder that knows nothing of it", async () => {
    expect(await run(kernel, "HALF_TURN")).toMatchObject({
      status: "ok",
      result: String(Math.PI),
      stdout: "",
      stderr: "",
    });
  });

  it("runs in the notebook's folder, lets the library know that it is in a notebook, and passes the environment on", async () => {
    const { result } = await run(
      kernel,
      "JSON.stringify([process.cwd(), inNotebook(), process.env.POLEWRIGHT_TEST])",
    );
    expect(JSON.parse(result)).toEqual([folder, true, "given"]);
  });

  it("shows one output in all the forms that it has", async () => {
    const { displays } = await run(kernel, 'show({ "text/html": "<b>fit</b>", "text/plain": "fit" });');
    expect(displays).toEqual([{ "text/html": "<b>fit</b>", "text/plain": "fit" }]);
  });

  it("tells the library which cell runs", async () => {
    const ask = 'JSON.stringify((globalThis as any)[Symbol.for("polewright.cell")]())';
    const first = JSON.parse((await run(kernel, ask, "first-cell")).result);
    const again = JSON.parse((await run(kernel, ask, "first-cell")).result);
    const other = JSON.parse((await run(kernel, ask)).result);
    expect([first.cell, again.cell, other.cell]).toEqual(["first-cell", "first-cell", ask]);
    expect(again.run).toBe(first.run + 1);
  });

  it("loses no output of a cell that prints thousands of lines", async () => {
    const lines = 3000;
    const { stdout } = await run(kernel, `for (let line = 0; line < ${lines}; line++) console.log(line);`);
    expect(stdout).toBe(Array.from({ length: lines }, (_, line) => `${line}\n`).join(""));
  });

  it("refuses a misspelt star before it runs, and names the right one", async () => {
    const { status, error, stdout } = await run(kernel, 'console.log("ran");\nsight("Achenar", 3);');
    expect(status).toBe("error");
    expect(stdout).toBe("");
    expect(error?.ename).toBe("TypeScript");
    expect(error?.evalue).toMatch(/^line 2, column 7: .*"Achenar".* Did you mean "Achernar"\?$/);
    expect(error?.traceback.slice(1)).toEqual(['    sight("Achenar", 3);', "          ^"]);
  });

  it("tells the line of the cell at which an error was thrown, types and comments or not", async () => {
    const code = `// a comment

interface Readings { hourAngle: number }

function note({ hourAngle }: Readings): void {
  sight("Mizar", -hourAngle);
}
note({ hourAngle: 2 });`;
    const { error } = await run(kernel, code);
    expect(error).toEqual({
      ename: "SightingError",
      evalue: "The reading of Mizar is below zero.",
      traceback: [
        "SightingError: The reading of Mizar is below zero.",
        "    at line 6, column 3",
        '      sight("Mizar", -hourAngle);',
        "      ^",
        "    at line 8, column 1",
      ],
    });
  });

  it("tells the line after an await, and the cell where a function of an earlier one throws", async () => {
    expect(
      (await run(kernel, "const fail = (): never => {\n  throw new RangeError('far');\n};")).status,
    ).toBe("ok");
    const { error } = await run(kernel, "\nawait Promise.resolve();\nfail();");
    expect(error?.traceback[0]).toBe("RangeError: far");
    expect(error?.traceback[1]).toMatch(/^ {4}at cell \[\d+\], line 2, column 9$/);
    expect(error?.traceback.slice(2, 5)).toEqual(["    at line 3, column 1", "    fail();", "    ^"]);
  });

  it("goes on after an error, with what earlier cells made", async () => {
    await run(kernel, "const kept = 5;");
    await run(kernel, "throw 'text'");
    expect(await run(kernel, "kept")).toMatchObject({ status: "ok", result: "5" });
  });

  it("knows an earlier cell's name where an object takes it by its name alone", async () => {
    await run(kernel, "const latitude = -30; let height = 0;");
    expect(
      await run(kernel, "const site = { latitude, deep: [{ latitude }] }; site.deep[0]!.latitude"),
    ).toMatchObject({
      status: "ok",
      result: "-30",
    });
    expect(await run(kernel, "({ height } = { height: 7 }); height")).toMatchObject({
      status: "ok",
      result: "7",
    });
  });

  it("completes star names inside quotes", async () => {
    const closed = 'sight("ach", 3)';
    expect(await kernel.complete(closed, 10)).toEqual({ matches: ["Achernar"], start: 7, end: 10 });
    const open = 'sight("Ac';
    expect(await kernel.complete(open, 9)).toEqual({ matches: ["Achernar", "Acrux"], start: 7, end: 9 });
    expect((await kernel.complete('sight("", 3)', 7)).matches).toContain("α Centauri");
  });

  it("completes names outside quotes, and answers where there is nothing to complete", async () => {
    expect(await kernel.complete("sig", 3)).toMatchObject({
      matches: expect.arrayContaining(["sight"]),
      start: 0,
      end: 3,
    });
    expect((await kernel.complete('import "node:f', 14)).matches).toContain("node:fs");
    expect((await kernel.complete('import "./no', 12)).matches).toEqual([]);
    expect((await kernel.complete('console.log("x', 14)).matches).toEqual([]);
  });

  it("explains a name", async () => {
    expect(await kernel.inspect("sight", 2)).toMatch(
      /^(?:function )?sight\(star: StarName, hourAngle: number\)[\s\S]*Notes a sighting\./,
    );
    expect(await kernel.inspect("", 0)).toBeUndefined();
  });

  it("explains the function whose arguments begin at the cursor", async () => {
    expect(await kernel.inspect("sight( )", 6)).toMatch(/Notes a sighting\./);
    expect(await kernel.inspect("sight(\n  ", 9)).toMatch(/Notes a sighting\./);
    expect(await kernel.inspect("sight(( ", 8)).toBeUndefined();
  });

  it("counts the cursor in characters, those that take two units of UTF-16 included", async () => {
    const before = 'const 𝛼 = "🔭";\n';
    const start = [...before].length;
    expect(await kernel.complete(`${before}sight("Ac", 3)`, start + 9)).toEqual({
      matches: ["Achernar", "Acrux"],
      start: start + 7,
      end: start + 9,
    });
    expect(await kernel.complete(`${before}sig`, start + 3)).toMatchObject({ start, end: start + 3 });
    expect(await kernel.inspect(`${before}sight`, start + 1)).toMatch(/Notes a sighting\./);
  });

  it("takes a cursor behind the end for the end", async () => {
    expect(await kernel.inspect("sight", 99)).toMatch(/Notes a sighting\./);
    expect(await kernel.complete("sig", 99)).toMatchObject({ start: 0, end: 3 });
  });

  it("survives an import that is not there, and finds the file once it is", async () => {
    const importing = 'import { late } from "./late";\nlate';
    expect((await run(kernel, importing)).error?.evalue).toContain("Cannot find module './late'");
    await kernel.complete('import "./la', 12);
    const path = join(folder, "late.ts");
    writeFileSync(path, "export const late = 3;");
    let ran = await run(kernel, importing);
    for (let tries = 0; tries < 20 && ran.status !== "ok"; tries += 1) ran = await run(kernel, importing);
    expect(ran).toMatchObject({ status: "ok", result: "3" });
    rmSync(path);
  });

  it("sees the notebook's own files, changed ones too", async () => {
    const path = join(folder, "own.ts");
    writeFileSync(path, "export const own = 1;");
    const importing = 'import { own } from "./own";\nown';
    expect((await run(kernel, importing)).result).toBe("1");
    writeFileSync(path, "export const own = 2;");
    // The change is noticed by the system's watch, a moment later.
    let result = "";
    for (let tries = 0; tries < 100 && result !== "2"; tries += 1)
      ({ result } = await run(kernel, importing));
    expect(result).toBe("2");
    rmSync(path);
  });

  it("stops code that takes too long, and goes on", async () => {
    await expect(kernel.execute("while (true) {}", { timeoutS: 0.5 })).rejects.toMatchObject({
      code: "kernel-timeout",
    });
    await expect(kernel.execute("await new Promise(() => {});", { timeoutS: 0.5 })).rejects.toMatchObject({
      code: "kernel-timeout",
    });
    expect((await run(kernel, "kept")).result).toBe("5");
  });

  it("leaves nothing in the notebook's folder", () => {
    expect(readdirSync(folder)).toEqual([]);
  });
});

describe("the kernel's process", () => {
  it("takes the package that is installed in the notebook's folder before this one", async () => {
    const folder = testFolder();
    const installed = join(folder, "node_modules", "polewright");
    mkdirSync(installed, { recursive: true });
    writeFileSync(
      join(installed, "package.json"),
      '{"name":"polewright","main":"main.js","types":"main.d.ts"}',
    );
    writeFileSync(join(installed, "main.js"), 'exports.which = "installed";');
    writeFileSync(join(installed, "main.d.ts"), "export declare const which: string;");
    const kernel = await startKernel({ ...options, folder });
    try {
      expect(await run(kernel, 'import { which } from "polewright";\nwhich')).toMatchObject({
        status: "ok",
        result: "installed",
      });
    } finally {
      await kernel.shutdown();
    }
  });

  it("has the real package too: its names, and its types", async () => {
    const kernel = await startKernel({ launcher: options.launcher!, folder: testFolder() });
    try {
      const ran = await run(kernel, 'import * as polewright from "polewright";\ntypeof polewright');
      expect(ran).toMatchObject({ status: "ok", result: "object", stderr: "" });
    } finally {
      await kernel.shutdown();
    }
  });

  it("is reached in a folder that only its owner enters, where no key stays; it goes with the kernel", async () => {
    const before = scratchFolders();
    const kernel = await startKernel({ ...options, folder: testFolder() });
    const processId = kernel.processId!;
    const [own] = scratchFolders().filter((name) => !before.includes(name));
    const folder = join(tmpdir(), own!);
    if (process.platform !== "win32") {
      expect(statSync(folder).mode & 0o777).toBe(0o700);
      expect(readdirSync(folder).sort()).toEqual([1, 2, 3, 4, 5].map((port) => `socket-${port}`));
    }
    // What a cell leaves behind must not keep the process.
    await run(kernel, "setInterval(() => {}, 1000);");
    await kernel.shutdown();
    expect(isAlive(processId)).toBe(false);
    expect(existsSync(folder)).toBe(false);
    await kernel.shutdown();
    await expect(kernel.execute("1")).rejects.toMatchObject({ code: "kernel-died" });
  });

  it("that dies is reported with its last words, to whoever waits and whoever asks later", async () => {
    const kernel = await startKernel({ ...options, folder: testFolder() });
    const dying = kernel.execute("process.exit(3);");
    const died = {
      name: "KernelError",
      code: "kernel-died",
      message: expect.stringContaining("exit code 3"),
    };
    await expect(dying).rejects.toMatchObject(died);
    await expect(kernel.execute("1")).rejects.toMatchObject(died);
    const failing = startKernel({ folder: testFolder(), launcher: "/none/launcher.js" });
    await expect(failing).rejects.toMatchObject({
      code: "kernel-start",
      stderrTail: expect.stringContaining("launcher.js"),
    });
  });

  it("leaves the folder of a program that was killed to the next start, and another's alone", async () => {
    const root = testFolder();
    const gone = spawn(process.execPath, ["-e", ""]);
    await once(gone, "exit");
    const dead = join(root, `polewright-kernel-${gone.pid}-abcdef`);
    const alive = join(root, `polewright-kernel-${process.ppid}-abcdef`);
    const other = join(root, "polewright-kernel-notes");
    for (const folder of [dead, alive, other]) mkdirSync(folder);
    writeFileSync(join(dead, "connection.json"), "{}");
    vi.stubEnv("TMPDIR", root);
    newScratchFolder("kernel");
    vi.unstubAllEnvs();
    expect([dead, alive, other].map((folder) => existsSync(folder))).toEqual([false, true, true]);
  });

  it("does not start on a connection that others could reach", async () => {
    const folder = testFolder();
    const file = join(folder, "connection.json");
    const ports = { shell_port: 1, iopub_port: 2, stdin_port: 3, control_port: 4, hb_port: 5 };
    writeFileSync(
      file,
      JSON.stringify({
        ...ports,
        transport: "tcp",
        ip: "0.0.0.0",
        key: "k",
        signature_scheme: "hmac-sha256",
      }),
    );
    const { code, stderr } = await ended(spawn(process.execPath, [options.launcher!, file], { cwd: folder }));
    expect(code).toBe(1);
    expect(stderr).toContain("this computer only");
    const bare = await ended(spawn(process.execPath, [options.launcher!], { cwd: folder }));
    expect(bare).toMatchObject({ code: 2, stderr: expect.stringContaining("polewright kernel add") });
  });

  const signals: NodeJS.Signals[] = ["SIGINT", "SIGKILL"];
  it.skipIf(process.platform === "win32").each(signals)(
    "does not outlive the program that started it and got %s",
    async (signal) => {
      const folder = testFolder();
      const client = await built("kernel/client.js");
      const program = `
      import { startKernel } from ${JSON.stringify(client)};
      const kernel = await startKernel(${JSON.stringify({ ...options, folder })});
      console.log(kernel.processId);
      await kernel.execute("while (true) {}");`;
      const env = { ...process.env, TMPDIR: folder };
      const child = spawn(process.execPath, ["--input-type=module", "-e", program], { cwd: folder, env });
      const [said] = await once(child.stdout, "data");
      const kernelId = Number(String(said));
      expect(isAlive(kernelId)).toBe(true);
      child.kill(signal);
      const [, by] = await once(child, "exit");
      expect(by).toBe(signal);
      expect(await eventually(() => !isAlive(kernelId))).toBe(true);
      // Nobody can tidy up after SIGKILL.
      if (signal !== "SIGKILL") expect(readdirSync(folder)).toEqual([]);
    },
  );
});

describe("tslab", () => {
  it("is the version that the kernel was written for", () => {
    const { version } = createRequire(import.meta.url)("tslab/package.json");
    expect(version).toBe("1.0.22");
  });
});

async function ended(child: ChildProcess): Promise<{ code: number | null; stderr: string }> {
  let stderr = "";
  child.stderr?.on("data", (text) => {
    stderr += text;
  });
  const [code] = await once(child, "close");
  return { code, stderr };
}
