import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { PolewrightError } from "../../src/errors.js";
import {
  addKernel,
  type Environment,
  jupyterDataFolder,
  kernelspecText,
  removeKernel,
  whereKernel,
} from "../../src/kernel/kernelspec.js";
import { testFolder } from "./support.js";

// "Data files" in Jupyter's documentation, "Common Directories and File Locations", and jupyter_core/paths.py 5.
const folders: readonly [string, string, string, Environment, string][] = [
  ["Linux", "linux", "/home/ada", {}, "/home/ada/.local/share/jupyter"],
  ["Linux with XDG_DATA_HOME", "linux", "/home/ada", { XDG_DATA_HOME: "/data" }, "/data/jupyter"],
  [
    "Linux with an empty XDG_DATA_HOME",
    "linux",
    "/home/ada",
    { XDG_DATA_HOME: "" },
    "/home/ada/.local/share/jupyter",
  ],
  ["another Unix", "freebsd", "/home/ada", {}, "/home/ada/.local/share/jupyter"],
  ["macOS", "darwin", "/Users/ada", { XDG_DATA_HOME: "/data" }, "/Users/ada/Library/Jupyter"],
  [
    "Windows",
    "win32",
    "C:\\Users\\ada",
    { APPDATA: "C:\\Users\\ada\\AppData\\Roaming" },
    "C:\\Users\\ada\\AppData\\Roaming\\jupyter",
  ],
  ["Windows without APPDATA", "win32", "C:\\Users\\ada", {}, "C:\\Users\\ada\\.jupyter\\data"],
  [
    "JUPYTER_DATA_DIR on Linux",
    "linux",
    "/home/ada",
    { JUPYTER_DATA_DIR: "/j", XDG_DATA_HOME: "/data" },
    "/j",
  ],
  ["JUPYTER_DATA_DIR on macOS", "darwin", "/Users/ada", { JUPYTER_DATA_DIR: "/j" }, "/j"],
  [
    "JUPYTER_DATA_DIR on Windows",
    "win32",
    "C:\\Users\\ada",
    { JUPYTER_DATA_DIR: "D:\\j", APPDATA: "C:\\a" },
    "D:\\j",
  ],
];

function place() {
  const folder = testFolder();
  const launcher = join(folder, "launcher.js");
  writeFileSync(launcher, "");
  return { env: { JUPYTER_DATA_DIR: join(folder, "data") }, node: process.execPath, launcher };
}

describe("the kernelspec", () => {
  it.each(folders)("belongs into Jupyter's folder on %s", (_, platform, home, env, expected) => {
    expect(jupyterDataFolder(env, platform, home)).toBe(expected);
  });

  it("says how the kernel is started, in the form of Jupyter's documentation", () => {
    const spec = JSON.parse(kernelspecText("/usr/bin/node", "/lib/polewright/launcher.js"));
    expect(spec).toMatchObject({
      argv: ["/usr/bin/node", "/lib/polewright/launcher.js", "{connection_file}"],
      display_name: "Polewright (TypeScript)",
      language: "typescript",
      interrupt_mode: "signal",
    });
  });

  it("is added, found, added again and removed", () => {
    const at = place();
    expect(whereKernel(at)).toMatchObject({
      present: false,
      text: expect.stringContaining("polewright kernel add"),
    });
    const added = addKernel(at);
    expect(added.folder).toBe(join(at.env.JUPYTER_DATA_DIR, "kernels", "polewright"));
    expect(readdirSync(added.folder).sort()).toEqual(["kernel.json", "logo-svg.svg"]);
    expect(readFileSync(join(added.folder, "kernel.json"), "utf8")).toBe(
      kernelspecText(at.node, at.launcher),
    );
    expect(added.text).toMatch(/jupyter notebook.*New > Polewright \(TypeScript\)/s);
    expect(whereKernel(at)).toMatchObject({ present: true, folder: added.folder });
    expect(whereKernel(at).text).not.toContain("missing");
    addKernel(at);
    expect(removeKernel(at)).toMatchObject({ present: false, folder: added.folder });
    expect(existsSync(added.folder)).toBe(false);
    expect(removeKernel(at).text).toContain("no kernel to remove");
  });

  it("says when the kernel that is known cannot start any more", () => {
    const at = place();
    addKernel({ ...at, node: join(at.env.JUPYTER_DATA_DIR, "no-node") });
    expect(whereKernel(at).text).toMatch(/It cannot start.*no-node[\s\S]*polewright kernel add/);
  });

  it("leaves another program's kernel of the same name alone", () => {
    const at = place();
    const folder = join(at.env.JUPYTER_DATA_DIR, "kernels", "polewright");
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, "kernel.json"), '{"argv":["other"],"display_name":"Other"}');
    for (const action of [addKernel, removeKernel]) {
      expect(() => action(at)).toThrowError(expect.objectContaining({ code: "kernel-foreign" }));
    }
    expect(readFileSync(join(folder, "kernel.json"), "utf8")).toContain("Other");
  });

  it("is not added for a launcher that is not there, nor into a folder that cannot be", () => {
    const at = place();
    expect(() => addKernel({ ...at, launcher: "/none/launcher.js" })).toThrowError(
      expect.objectContaining({ code: "kernel-launcher", message: expect.stringContaining("npm run build") }),
    );
    const inFile = { ...at, env: { JUPYTER_DATA_DIR: at.launcher } };
    expect(() => addKernel(inFile)).toThrowError(PolewrightError);
    expect(() => addKernel(inFile)).toThrowError(expect.objectContaining({ code: "kernel-folder" }));
  });
});
