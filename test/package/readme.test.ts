/** The README's "Five minutes", run as it is written. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { createFolder } from "../../src/files/new-folder.js";

const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8");
const section = readme.slice(readme.indexOf("## Five minutes"), readme.indexOf("## Commands"));
const code = /```ts\n([\s\S]*?)```/.exec(section)![1]!;

let folder = "";
beforeEach(() => {
  folder = join(mkdtempSync(join(tmpdir(), "polewright-readme-")), "my-telescope");
  createFolder(folder);
});
afterEach(() => {
  rmSync(join(folder, ".."), { recursive: true, force: true });
  vi.restoreAllMocks();
});

/** What the code prints; only where it finds the package and the folder is put in. */
async function printed(): Promise<string> {
  const said: string[] = [];
  vi.spyOn(console, "log").mockImplementation((text) => said.push(String(text)));
  const library = await import("../../src/index.js");
  const body = code
    .replace(/import \{([^}]*)\} from "polewright";/, "const {$1} = library;")
    .replace('"my-telescope"', "folder");
  new Function("library", "folder", body)(library, folder);
  return said.join("\n");
}

test("as written it shows how the mount stands, and asks for the builder's own figures before any turn", async () => {
  const text = await printed();
  expect(text).toContain("of the polar axis points");
  expect(text).toContain("confirmed");
  expect(text).not.toContain("Stop here");
});

test("with the figures confirmed it says what to turn", async () => {
  const path = join(folder, "mount.json");
  const mount = JSON.parse(readFileSync(path, "utf8"));
  mount.base.confirmed = true;
  writeFileSync(path, JSON.stringify(mount));
  const text = await printed();
  expect(text).toMatch(/Turn .*jack|azimuth bolts/);
  expect(text).not.toContain("Stop here");
});
