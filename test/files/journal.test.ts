import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { fileURLToPath, pathToFileURL } from "node:url";
import ts from "typescript";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { appendLine, JournalError } from "../../src/files/journal.js";
import { seededRandom } from "../../src/simulate/random.js";

/** How often the writer is killed: few in the usual run, as many as wanted in a long one. */
const KILLS = Number(process.env.POLEWRIGHT_KILLS ?? 30);
const SEED = 1914;
const source = fileURLToPath(new URL("../../src/", import.meta.url));

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "polewright-journal-"));
  // Another process runs the journal itself: its files, their types taken off.
  for (const name of ["words/lists", "errors", "tables/cut-short", "files/journal"]) {
    const { outputText } = ts.transpileModule(readFileSync(join(source, `${name}.ts`), "utf8"), {
      compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext },
    });
    const file = join(folder, "journal", `${name}.js`);
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, outputText);
  }
  writeFileSync(join(folder, "journal", "package.json"), '{ "type": "module" }');
  const journal = JSON.stringify(pathToFileURL(join(folder, "journal", "files", "journal.js")).href);
  writeFileSync(
    join(folder, "writer.mjs"),
    // Each line is acknowledged only after appendLine has returned.
    `import { writeSync } from "node:fs";
     import { appendLine } from ${journal};
     const [file, name, first, count, width] = process.argv.slice(2);
     for (let n = Number(first); n < Number(first) + Number(count); n++) {
       try { appendLine(file, \`\${name},\${n},\${"x".repeat(Number(width))},end\`); }
       catch (problem) { writeSync(1, \`\${problem.code}\\n\`); process.exit(3); }
       writeSync(1, \`\${n}\\n\`);
     }`,
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function writer(file: string, name: string, first: number, count: number, width: number): ChildProcess {
  const args = [join(folder, "writer.mjs"), file, name, first, count, width].map(String);
  return spawn(process.execPath, args, { stdio: ["ignore", "pipe", "inherit"] });
}

const ended = (child: ChildProcess): Promise<void> =>
  new Promise((done) => child.once("close", () => done()));

const text = (file: string): string => readFileSync(file, "utf8");
/** How the journal refuses a line, or null. */
function refusal(file: string, line: string): JournalError | null {
  try {
    appendLine(file, line);
    return null;
  } catch (problem) {
    if (problem instanceof JournalError) return problem;
    throw problem;
  }
}

describe("adding a line", () => {
  it("leaves what is there byte by byte, and makes the file where there is none", () => {
    const file = join(folder, "plain.csv");
    appendLine(file, "a,1");
    appendLine(file, "β,2");
    expect(text(file)).toBe("a,1\nβ,2\n");
    writeFileSync(file, Buffer.from([0xff, 0x00, 0x0d, 0x0a]));
    appendLine(file, "c");
    expect(readFileSync(file)).toEqual(Buffer.from([0xff, 0x00, 0x0d, 0x0a, 0x63, 0x0a]));
  });

  it("behind a torn line starts on a line of its own and says so", () => {
    const file = join(folder, "torn.csv");
    writeFileSync(file, "time,star\n2026-03-1");
    appendLine(file, "whole,row");
    appendLine(file, "next,row");
    expect(text(file)).toBe(
      "time,star\n2026-03-1\n# cut short: the line above had no end when the next one was written.\nwhole,row\nnext,row\n",
    );
  });

  it("follows a link to the night file", () => {
    const file = join(folder, "linked.csv");
    symlinkSync(file, join(folder, "link.csv"));
    appendLine(join(folder, "link.csv"), "a");
    expect(text(file)).toBe("a\n");
  });

  it("refuses a line that is two", () => {
    const file = join(folder, "two.csv");
    expect(refusal(file, "a\nb")).toMatchObject({ code: "line-with-line-break", line: "a\nb", file });
    expect(refusal(file, "a\rb")).toMatchObject({ code: "line-with-line-break" });
  });
});

describe("a line that cannot be written", () => {
  it.each([
    ["a folder that is missing", () => join(folder, "missing", "night.csv"), "folder-missing"],
    ["a file for a folder", () => join(folder, "writer.mjs", "night.csv"), "folder-missing"],
    ["a folder for a file", () => folder, "not-a-file"],
    // Linux has a device that is always full.
    ["a full disk", () => "/dev/full", "disk-full"],
  ])("because of %s is in the message, so that it is not lost", (_, path, code) => {
    const problem = refusal(path(), "2026-03-14T19:22:10Z,Canopus,1877,-1460");
    expect(problem).toMatchObject({ code, file: path(), line: "2026-03-14T19:22:10Z,Canopus,1877,-1460" });
    expect(problem!.message).toContain("NOT safely on the disk");
    expect(problem!.message.split("\n").at(-1)).toBe("2026-03-14T19:22:10Z,Canopus,1877,-1460");
  });

  it("because the disk fills up in its middle is not acknowledged, and the next one is read whole", async () => {
    const file = join(folder, "filling.csv");
    // The shell's limit of file size, 1024 bytes, stands for the end of the disk: the last write is cut in the middle.
    const { stdout } = spawnSync(
      "bash",
      [
        "-c",
        'ulimit -f 1; exec "$@"',
        "bash",
        process.execPath,
        join(folder, "writer.mjs"),
        file,
        "w",
        "0",
        "40",
        "60",
      ],
      { encoding: "utf8" },
    );
    const answers = stdout.trim().split("\n");
    expect(answers.at(-1)).toBe("disk-full");
    expect(statSync(file).size).toBe(1024);
    expect(text(file).endsWith("\n")).toBe(false);
    appendLine(file, "w,after,end");
    const lines = text(file).split("\n");
    for (const n of answers.slice(0, -1)) expect(lines).toContain(`w,${n},${"x".repeat(60)},end`);
    expect(lines.slice(-3)).toEqual([
      "# cut short: the line above had no end when the next one was written.",
      "w,after,end",
      "",
    ]);
  });
});

describe("several programs at once", () => {
  it("add their lines without mixing or losing one", async () => {
    const file = join(folder, "shared.csv");
    const COUNT = 60;
    const WIDTH = 9000; // longer than a page of memory, so that a write could be cut if it were not one step
    await Promise.all(["one", "two", "three"].map((name) => ended(writer(file, name, 0, COUNT, WIDTH))));
    const rows = text(file)
      .split("\n")
      .filter((line) => line !== "" && !line.startsWith("#"));
    const expected = ["one", "two", "three"].flatMap((name) =>
      Array.from({ length: COUNT }, (_, n) => `${name},${n},${"x".repeat(WIDTH)},end`),
    );
    expect(rows.toSorted()).toEqual(expected.toSorted());
  });
});

describe("a program killed while it writes", () => {
  it(`has lost no acknowledged line (killed ${KILLS} times)`, {
    timeout: 60_000 + 2000 * KILLS,
  }, async () => {
    const file = join(folder, "killed.csv");
    const random = seededRandom(SEED);
    const acknowledged: number[] = [];
    let first = 0;
    for (let kill = 0; kill < KILLS; kill++) {
      const child = writer(file, "k", first, 1_000_000, Math.floor(random() * 20_000));
      let heard = "";
      const lines = 1 + Math.floor(random() * 6);
      const enough = new Promise<void>((done) => {
        child.stdout!.on("data", (bytes: Buffer) => {
          heard += bytes.toString("utf8");
          if (heard.split("\n").length > lines) done();
        });
      });
      await enough;
      await delay(random() * 3);
      child.kill("SIGKILL");
      await ended(child);
      const numbers = heard.split("\n").slice(0, -1).map(Number);
      acknowledged.push(...numbers);
      first = Math.max(first, ...numbers) + 1_000_000;
    }
    const whole = new Set<number>();
    for (const line of text(file).split("\n")) {
      const row = /^k,(\d+),x*,end$/.exec(line);
      if (row) whole.add(Number(row[1]));
      // What is not a whole row is a torn one, and marked.
      else if (line !== "" && !line.startsWith("# cut short:")) expect(line).toMatch(/^k?,?\d*,?x*,?e?n?d?$/);
    }
    expect(acknowledged.length).toBeGreaterThanOrEqual(KILLS);
    expect(acknowledged.filter((n) => !whole.has(n))).toEqual([]);
  });
});
