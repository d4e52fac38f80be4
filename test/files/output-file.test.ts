/** Files that a command writes: what cannot be written is refused before the work is done. */
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { PolewrightError } from "../../src/errors.js";
import { checkOutputFile, writeOutputFile } from "../../src/files/output-file.js";

let top = "";
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), "polewright-output-"));
});
afterEach(() => {
  rmSync(top, { recursive: true, force: true });
});

function refusal(...path: string[]): PolewrightError {
  try {
    checkOutputFile(join(top, ...path), "page", "--html");
  } catch (problem) {
    if (problem instanceof PolewrightError) return problem;
    throw problem;
  }
  throw new Error("It was not refused.");
}
const page = "<!doctype html>\n<p>Clear sky.</p>\n";
describe("before the work is done", () => {
  test("a folder that is missing is refused", () => {
    for (const path of [["none", "page.html"], ["none/"]]) {
      expect(refusal(...path).code).toBe("not-writable");
      expect(refusal(...path).message).toMatch(/^--html .*none.*folder does not exist/);
    }
  });

  test("a file in a folder's place is refused", () => {
    writeFileSync(join(top, "notes"), "seeing good");
    expect(refusal("notes", "page.html").code).toBe("not-writable");
    expect(refusal("notes", "page.html").message).toContain("is a file, not a folder");
  });

  test("a folder of that name and another's file are refused", () => {
    mkdirSync(join(top, "page.html"));
    expect(refusal("page.html").code).toBe("not-writable");
    writeFileSync(join(top, "night.csv"), "time,star,hourAngle,declination\n");
    expect(refusal("night.csv").code).toBe("would-overwrite");
  });

  test("what can be written passes, and is written whole", () => {
    const path = join(top, "page.html");
    for (const text of [page, `${page}<p>And a Moon.</p>\n`]) {
      checkOutputFile(path, "page", "--html");
      writeOutputFile(path, text, "page", "--html");
      expect(readFileSync(path, "utf8")).toBe(text);
    }
    expect(readdirSync(top)).toEqual(["page.html"]);
    checkOutputFile("page-of-no-such-name.html", "page", "--html");
    checkOutputFile("/dev/null", "page", "--html");
  });
});
