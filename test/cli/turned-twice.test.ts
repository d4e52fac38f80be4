import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, it } from "vitest";

it("asks for the same turns again where the file of turns holds this advice, and takes off what was turned before", () => {
  const folder = mkdtempSync(join(tmpdir(), "polewright-turned-"));
  const file = join(folder, "turned.csv");
  const root = new URL("../../", import.meta.url).pathname;
  const turns = () =>
    JSON.parse(
      execFileSync(
        process.execPath,
        [
          join(root, "dist/cli/main.js"),
          "turns",
          join(root, "data/first-light/night.csv"),
          "--turned",
          file,
          "--json",
        ],
        { encoding: "utf8" },
      ),
    ).turns;
  try {
    const first = turns();
    const written = readFileSync(file, "utf8");
    const again = turns();
    expect(again.jacks).toEqual(first.jacks);
    expect(again.notes.join(" ")).toContain("Round 1 in");
    expect(readFileSync(file, "utf8")).toBe(written);
    // What was really turned is another matter: it counts, and is said.
    writeFileSync(file, written.replace(/^1,north-east,.*$/m, "1,north-east,14,clockwise,,"));
    const after = turns();
    expect(after.notes.join(" ")).toContain("1 round. That travel is counted as used");
    const rise = (advice: typeof first) =>
      advice.jacks.find(({ name }: { name: string }) => name === "north-east").riseMm;
    // 14 turns of 2 mm leave 2 mm of the 30.
    expect(rise(first)).toBeGreaterThan(2);
    expect(rise(after)).toBeLessThanOrEqual(2);
  } finally {
    rmSync(folder, { recursive: true });
  }
});
