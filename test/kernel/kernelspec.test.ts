import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
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
import { lightTheme } from "../../src/words/theme.js";
import { testFolder } from "./support.js";

/** The logo as version 0.1 wrote it. */
const FIRST_LOGO = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64" width="64" height="64">
<title>Polewright</title>
<rect width="64" height="64" rx="10" fill="#14213d"/>
<path d="M10 52h44" stroke="#e5e5e5" stroke-width="4" stroke-linecap="round"/>
<path d="M16 52L44 20" stroke="#fca311" stroke-width="5" stroke-linecap="round"/>
<path d="M31 52a15 15 0 0 0-5-11.300" fill="none" stroke="#e5e5e5" stroke-width="2.500"/>
<circle cx="51" cy="12" r="4.500" fill="#ffffff"/>
</svg>
`;

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

  it("starts notebooks red on black where that is wanted, and has a logo in the theme's colours", () => {
    const at = place();
    const { folder } = addKernel({ ...at, night: true });
    const spec = JSON.parse(readFileSync(join(folder, "kernel.json"), "utf8"));
    expect(spec.env).toEqual({ POLEWRIGHT_THEME: "night" });
    const logo = () => readFileSync(join(folder, "logo-svg.svg"), "utf8");
    const colours = logo().match(/#[0-9a-f]{6}/g)!;
    expect(colours.length).toBeGreaterThan(3);
    for (const colour of colours) expect(colour).toMatch(/^#[0-9a-f]{2}0000$/);
    const module = join(folder, "kernel.js");
    expect(readFileSync(module, "utf8")).toMatch(/define\(.*data-polewright-night/s);
    writeFileSync(module, "// the user's own");
    addKernel({ ...at, night: true });
    expect(readFileSync(module, "utf8")).toBe("// the user's own");
    rmSync(module);
    addKernel({ ...at, night: true });
    expect(addKernel(at).text).toContain("kernel add --night");
    expect(existsSync(module)).toBe(false);
    expect(JSON.parse(readFileSync(join(folder, "kernel.json"), "utf8")).env).toBeUndefined();
    expect(logo()).toContain(lightTheme.colours.first);
  });

  it("interrupts by message on Windows, where a signal would end the process", () => {
    expect(JSON.parse(kernelspecText("node", "l", { platform: "win32" })).interrupt_mode).toBe("message");
  });

  it("is removed without anything that others put there", () => {
    const at = place();
    const { folder } = addKernel(at);
    writeFileSync(join(folder, "logo-64x64.png"), "mine");
    writeFileSync(join(folder, "logo-svg.svg"), "<svg>mine</svg>");
    mkdirSync(join(folder, "notes"));
    addKernel(at);
    expect(readFileSync(join(folder, "logo-svg.svg"), "utf8")).toBe("<svg>mine</svg>");
    expect(removeKernel(at).text).toMatch(/did not write.*logo-64x64\.png, logo-svg\.svg, notes/);
    expect(readdirSync(folder).sort()).toEqual(["logo-64x64.png", "logo-svg.svg", "notes"]);
    expect(removeKernel(at).text).toContain("no kernel to remove");
    expect(readdirSync(folder)).toHaveLength(3);
  });

  it("takes away what version 0.1 wrote", () => {
    const at = place();
    const folder = join(at.env.JUPYTER_DATA_DIR, "kernels", "polewright");
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, "kernel.json"), JSON.stringify({ argv: [], metadata: { polewright: {} } }));
    writeFileSync(join(folder, "logo-svg.svg"), FIRST_LOGO);
    removeKernel(at);
    expect(existsSync(folder)).toBe(false);
  });

  it.skipIf(process.platform === "win32")("writes and deletes nothing through a link", () => {
    const at = place();
    const elsewhere = testFolder();
    const folder = join(at.env.JUPYTER_DATA_DIR, "kernels", "polewright");
    mkdirSync(join(folder, ".."), { recursive: true });
    const foreign = expect.objectContaining({
      code: "kernel-foreign",
      message: expect.stringContaining("link"),
    });

    symlinkSync(elsewhere, folder);
    expect(() => addKernel(at)).toThrowError(foreign);
    expect(() => removeKernel(at)).toThrowError(foreign);
    expect(readdirSync(elsewhere)).toEqual([]);
    rmSync(folder);

    const ours = join(elsewhere, "kernel.json");
    writeFileSync(ours, kernelspecText(at.node, at.launcher));
    mkdirSync(folder);
    symlinkSync(ours, join(folder, "kernel.json"));
    expect(() => addKernel(at)).toThrowError(foreign);
    expect(() => removeKernel(at)).toThrowError(foreign);
    expect(readFileSync(ours, "utf8")).toBe(kernelspecText(at.node, at.launcher));
    rmSync(join(folder, "kernel.json"));

    const picture = join(elsewhere, "picture.svg");
    writeFileSync(picture, "a picture");
    symlinkSync(picture, join(folder, "logo-svg.svg"));
    symlinkSync(picture, join(folder, "kernel.json.new"));
    addKernel(at);
    removeKernel(at);
    expect(readFileSync(picture, "utf8")).toBe("a picture");
    expect(readdirSync(folder).sort()).toEqual(["kernel.json.new", "logo-svg.svg"]);
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
