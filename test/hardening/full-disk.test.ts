/** Commands whose files find no room: nothing half written is left, and with room again they do their work. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

let main = "";
let folder = "";
beforeAll(async () => {
  main = await built("cli/main.js");
  folder = mkdtempSync(join(tmpdir(), "polewright-full-"));
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const night = join(packageFolder, "data/first-light/night.csv");

it.each([
  ["keep", night, "--out", "kept.json"],
  ["fit", night, "--html", "page.html"],
  ["new", "."],
])("%s", (...args) => {
  rmSync(folder, { recursive: true, force: true });
  folder = mkdtempSync(join(tmpdir(), "polewright-full-"));
  // A limit on the size of files, of so many kilobytes, stands for the end of the disk.
  const run = (limit: string) =>
    spawnSync("bash", ["-c", `ulimit -f ${limit}; exec "$@"`, "bash", process.execPath, main, ...args], {
      cwd: folder,
      encoding: "utf8",
    });
  const full = run("2");
  expect(full.status).toBe(1);
  expect(full.stderr).toMatch(/could not be (written|filled).*EFBIG/);
  expect(readdirSync(folder)).toEqual([]);
  expect(run("unlimited").status).toBe(0);
  for (const name of readdirSync(folder)) expect(statSync(join(folder, name)).size).toBeGreaterThan(100);
});
