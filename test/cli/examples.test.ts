/** The example in each command's help runs as it is written, where the demonstration's files lie as the examples name them. */
import { spawnSync } from "node:child_process";
import { chmodSync, cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { questions } from "../../src/answers/list.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

const HANG_MS = 120_000;
let world = "";

/** A line as a shell takes it; the command's name stands for the built program. */
function shell(line: string) {
  const done = spawnSync("/bin/sh", ["-c", line], {
    cwd: join(world, "work"),
    encoding: "utf8",
    timeout: HANG_MS,
    maxBuffer: 1e8,
    env: {
      PATH: `${join(world, "bin")}${delimiter}${process.env.PATH}`,
      HOME: join(world, "home"),
      TMPDIR: join(world, "tmp"),
    },
  });
  return { code: done.status, out: done.stdout, err: done.stderr };
}

function exampleOf(command: string): string {
  const help = shell(`polewright ${command} --help`);
  expect(help.code, help.err).toBe(0);
  return /\nExample:\n {2}(.+)\n/.exec(help.out)![1]!;
}

beforeAll(async () => {
  const main = await built("cli/main.js");
  world = mkdtempSync(join(tmpdir(), "polewright-examples-"));
  for (const name of ["bin", "home", "tmp", "work"]) mkdirSync(join(world, name));
  const program = join(world, "bin", "polewright");
  writeFileSync(program, `#!/bin/sh\nexec "${process.execPath}" "${main}" "$@"\n`);
  chmodSync(program, 0o755);
  // The folder that `new` makes, then the demonstration's night in it; the later nights beside it.
  const made = shell(exampleOf("new"));
  expect(made.code, made.err).toBe(0);
  const data = join(packageFolder, "data");
  const work = join(world, "work");
  cpSync(join(data, "first-light"), join(work, "my-telescope"), { recursive: true });
  cpSync(join(data, "first-light"), join(work, "first"), { recursive: true });
  cpSync(join(data, "after-turning"), join(work, "second"), { recursive: true });
  cpSync(join(data, "after-turning", "turned.csv"), join(work, "turned.csv"));
  cpSync(join(data, "kept"), work, { recursive: true });
  const kept = shell(exampleOf("keep"));
  expect(kept.code, kept.err).toBe(0);
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(world, { recursive: true, force: true }));

describe("the example in the help of", () => {
  it.each(Object.keys(questions).filter((name) => name !== "keep"))("%s", (name) => {
    const example = exampleOf(name);
    const done = shell(example);
    expect([done.code, done.err], example).toEqual([0, ""]);
    expect(done.out.length).toBeGreaterThan(100);
    for (const [, file] of example.matchAll(/--(?:out|html) (\S+)/g))
      expect(readdirSync(join(world, "work"))).toContain(file);
  });

  // `sight` asks in a terminal and `watch` waits for pictures: test/sight runs them.
  it(
    "kernel and run: the notebook of a new folder",
    () => {
      for (const name of ["kernel", "run"]) {
        const done = shell(exampleOf(name));
        expect(done.code, `${name} ${done.err}`).toBe(0);
      }
      expect(readdirSync(join(world, "work"))).toContain("first-night.html");
    },
    HANG_MS,
  );
});
