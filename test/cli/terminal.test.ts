/** Colours, progress and completion: on a terminal that script(1) makes, and in a pipe. */
import { spawnSync } from "node:child_process";
import { beforeAll, describe, expect, it } from "vitest";
import { questions } from "../../src/answers/list.js";
import { deeds } from "../../src/cli/deeds.js";
import { bar, coloursOf, inColours, themeAmong } from "../../src/cli/terminal.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

const terminal = { isTTY: true };
let main = "";
beforeAll(async () => {
  main = await built("cli/main.js");
}, BUILD_TIMEOUT_MS);

function run(...args: string[]) {
  return spawnSync(process.execPath, [main, ...args], { cwd: packageFolder, encoding: "utf8" });
}

/** What a program's terminal receives, both streams. */
function onTerminal(args: string, environment: Record<string, string> = {}): string {
  const { NO_COLOR: _, ...rest } = process.env;
  const command = `${process.execPath} ${main} ${args}`;
  const done = spawnSync("script", ["-qec", command, "/dev/null"], {
    cwd: packageFolder,
    encoding: "utf8",
    env: { ...rest, TERM: "xterm", ...environment },
  });
  return done.stdout;
}

describe("colours", () => {
  it("need a terminal; NO_COLOR turns them off (no-color.org), a theme asked for turns them on again", () => {
    expect(coloursOf({}, "night", {})).toBe("none");
    expect(coloursOf(terminal, undefined, {})).toBe("day");
    expect(coloursOf(terminal, undefined, { NO_COLOR: "" })).toBe("day");
    expect(coloursOf(terminal, undefined, { NO_COLOR: "1" })).toBe("none");
    expect(coloursOf(terminal, "night", { NO_COLOR: "1" })).toBe("night");
    expect(coloursOf(terminal, undefined, { POLEWRIGHT_THEME: "night" })).toBe("night");
    expect(coloursOf(terminal, "light", { POLEWRIGHT_THEME: "night" })).toBe("day");
    expect(coloursOf(terminal, undefined, { TERM: "dumb" })).toBe("none");
  });

  it("at night cover every line, an empty one too", () => {
    const lines = inColours("a\n\nb\n", "night").split("\n");
    expect(
      lines.slice(0, 3).every((line) => line.startsWith("\x1b[31;40m") && line.endsWith("\x1b[0m")),
    ).toBe(true);
    expect(lines[3]).toBe("");
  });

  it("are found in what is typed", () => {
    expect(themeAmong(["fit", "--theme", "night"])).toBe("night");
    expect(themeAmong(["fit", "--theme=night"])).toBe("night");
    expect(themeAmong(["fit", "night"])).toBeUndefined();
  });

  it("of the program: bold by day, red at night, an error too; none with NO_COLOR", () => {
    const [sequence, red] = ["\x1b[", "\x1b[31;40m"];
    expect(onTerminal("explain cone")).toContain("\x1b[1m");
    expect(onTerminal("explain cone", { NO_COLOR: "1" }).replaceAll("\r\x1b[K", "")).not.toContain(sequence);
    const night = onTerminal("explain cone --theme night")
      .split("\n")
      .filter((line) => line.trim() !== "");
    expect(night.length).toBeGreaterThan(10);
    expect(night.every((line) => line.startsWith(red))).toBe(true);
    expect(onTerminal("fit nowhere.csv --theme night")).toContain(red);
  });

  it("are refused where nothing would show them", () => {
    for (const args of [
      ["--theme", "night"],
      ["--theme", "night", "--json"],
    ]) {
      const done = run("explain", "cone", ...args);
      expect(done.status).toBe(2);
      expect(done.stderr).toContain("only on a terminal, or with --html");
    }
  });
});

it("a bar fills with the steps", () => {
  expect([bar(0, 4, 4), bar(1, 4, 4), bar(4, 4, 4)]).toEqual(["[----]", "[#---]", "[####]"]);
});

describe("completion", () => {
  it.each(["bash", "zsh", "fish"])("for %s names every command", (shell) => {
    const { status, stdout } = run("completion", shell);
    expect(status).toBe(0);
    for (const name of [...Object.keys(questions), ...Object.keys(deeds)])
      expect(stdout).toMatch(new RegExp(`\\b${name}\\b`));
  });

  it("completes in bash: commands, options, choices, words and files", () => {
    const script = run("completion", "bash").stdout;
    const completed = (...words: string[]) => {
      const list = words.map((word) => `'${word}'`).join(" ");
      const asked = `COMP_WORDS=(polewright ${list}); COMP_CWORD=${words.length}; _polewright; printf '%s\\n' "\${COMPREPLY[@]}"`;
      const done = spawnSync("bash", ["-c", `${script}\n${asked}`], { cwd: packageFolder, encoding: "utf8" });
      expect(done.stderr).toBe("");
      return done.stdout.trim().split("\n");
    };
    expect(completed("ex")).toEqual(["exposure", "explain"]);
    expect(completed("fit", "--as")).toEqual(["--as-entered"]);
    expect(completed("fit", "night.csv", "--theme", "")).toEqual(["light", "night"]);
    expect(completed("describe", "tr")).toEqual(["track"]);
    expect(completed("fit", "READ")).toEqual(["README.md"]);
  });
});
