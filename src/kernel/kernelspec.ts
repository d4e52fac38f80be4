/**
 * Makes the notebook kernel known to Jupyter: one JSON file in Jupyter's data folder, and gone again.
 *
 * Source: "Kernel specs" and "Data files" in the Jupyter documentation (jupyter-client, jupyter_core).
 */
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { homedir } from "node:os";
import { posix, win32 } from "node:path";
import { PolewrightError } from "../errors.js";
import { launcherPath } from "./launcher-path.js";
import { KERNEL_LOGO } from "./logo.js";

/** The kernel's name in Jupyter, and its folder's. */
const KERNEL_NAME = "polewright";
/** The kernel's name as Jupyter shows it. */
const KERNEL_DISPLAY_NAME = "Polewright (TypeScript)";

/** Environment variables by name. */
export type Environment = Readonly<Record<string, string | undefined>>;

/** Where and for what a kernel is added; everything may be left out. */
export interface KernelPlace {
  readonly env?: Environment;
  /** As `process.platform` gives it. */
  readonly platform?: string;
  /** The user's home folder. */
  readonly home?: string;
  /** The program that runs the kernel, by default this Node.js. */
  readonly node?: string;
  /** The kernel's script, by default this package's. */
  readonly launcher?: string;
}

/** What was done, and what to tell the user. */
export interface KernelAnswer {
  /** The kernel's folder in Jupyter's data folder. */
  readonly folder: string;
  /** Whether the kernel is there now. */
  readonly present: boolean;
  /** Sentences for the user, lines parted by newlines. */
  readonly text: string;
}

/**
 * The folder in which Jupyter keeps a user's own data.
 *
 * @param env - the environment: `JUPYTER_DATA_DIR` goes before everything, then `XDG_DATA_HOME` (Linux and other Unix) or `APPDATA` (Windows)
 * @param platform - as `process.platform` gives it
 * @param home - the user's home folder
 */
export function jupyterDataFolder(env: Environment, platform: string, home: string): string {
  const { join } = platform === "win32" ? win32 : posix;
  if (env.JUPYTER_DATA_DIR) return env.JUPYTER_DATA_DIR;
  if (platform === "darwin") return join(home, "Library", "Jupyter");
  if (platform === "win32") {
    if (env.APPDATA) return join(env.APPDATA, "jupyter");
    return join(env.JUPYTER_CONFIG_DIR ?? join(home, ".jupyter"), "data");
  }
  return join(env.XDG_DATA_HOME || join(home, ".local", "share"), "jupyter");
}

/** The kernel's folder in Jupyter's data folder. */
function kernelFolder(env: Environment, platform: string, home: string): string {
  return (platform === "win32" ? win32 : posix).join(
    jupyterDataFolder(env, platform, home),
    "kernels",
    KERNEL_NAME,
  );
}

/**
 * The text of `kernel.json`.
 *
 * @param node - absolute path of the program that runs the kernel
 * @param launcher - absolute path of the kernel's script
 */
export function kernelspecText(node: string, launcher: string): string {
  const spec = {
    argv: [node, launcher, "{connection_file}"],
    display_name: KERNEL_DISPLAY_NAME,
    language: "typescript",
    interrupt_mode: "signal",
    metadata: { [KERNEL_NAME]: { launcher } },
  };
  return `${JSON.stringify(spec, null, 1)}\n`;
}

/**
 * Adds the kernel to Jupyter, or renews it.
 *
 * @param place - overrides of the environment, for tests
 * @returns the folder and what to tell the user
 * @throws PolewrightError `kernel-foreign` where another program's kernel has this name, `kernel-folder` where the folder cannot be written
 * @example
 * ```ts
 * console.log(addKernel().text);
 * ```
 */
export function addKernel(place: KernelPlace = {}): KernelAnswer {
  const { folder, path, node, launcher, join } = resolved(place);
  if (!existsSync(launcher)) {
    throw new PolewrightError(
      "kernel-launcher",
      `The kernel's script ${launcher} is missing: build the package first (npm run build), or install it again.`,
    );
  }
  refuseForeign(path);
  onDisk(folder, () => {
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, "logo-svg.svg"), KERNEL_LOGO);
    // Written aside and renamed, so that Jupyter never reads half a file.
    writeFileSync(`${path}.new`, kernelspecText(node, launcher));
    renameSync(`${path}.new`, path);
  });
  return {
    folder,
    present: true,
    text: [
      `The kernel "${KERNEL_DISPLAY_NAME}" is known to Jupyter now: ${folder}`,
      "Start Jupyter in your notebooks' folder (jupyter notebook, or jupyter lab), open a notebook there,",
      `or make one with New > ${KERNEL_DISPLAY_NAME}. A Jupyter that is open already sees it after a reload.`,
      `Add it again after moving or updating Node.js or Polewright: it starts ${launcher}`,
      `with ${node}.`,
    ].join("\n"),
  };
}

/**
 * Takes the kernel away from Jupyter; notebooks stay as they are.
 *
 * @param place - overrides of the environment, for tests
 * @throws PolewrightError `kernel-foreign` where another program's kernel has this name, `kernel-folder` where the folder cannot be removed
 */
export function removeKernel(place: KernelPlace = {}): KernelAnswer {
  const { folder, path } = resolved(place);
  if (!existsSync(folder)) {
    return { folder, present: false, text: `There is no kernel to remove: ${folder} does not exist.` };
  }
  refuseForeign(path);
  onDisk(folder, () => rmSync(folder, { recursive: true }));
  return { folder, present: false, text: `The kernel is no longer known to Jupyter: ${folder} is removed.` };
}

/**
 * Tells where the kernel is, or would be, and whether it can start.
 *
 * @param place - overrides of the environment, for tests
 */
export function whereKernel(place: KernelPlace = {}): KernelAnswer {
  const { folder, path } = resolved(place);
  const argv = argvOf(path);
  if (argv === undefined) {
    const text = `The kernel is not known to Jupyter: ${path} does not exist.\nTo add it: polewright kernel add`;
    return { folder, present: false, text };
  }
  const missing = argv.slice(0, 2).filter((file) => !existsSync(file));
  const lines = [`The kernel is known to Jupyter: ${path}`, `It starts: ${argv.join(" ")}`];
  if (missing.length > 0) {
    lines.push(
      `It cannot start, for this is missing: ${missing.join(", ")}`,
      "To mend it: polewright kernel add",
    );
  }
  return { folder, present: true, text: lines.join("\n") };
}

interface ResolvedPlace {
  readonly folder: string;
  readonly path: string;
  readonly node: string;
  readonly launcher: string;
  readonly join: (...parts: string[]) => string;
}

function resolved(place: KernelPlace): ResolvedPlace {
  const platform = place.platform ?? process.platform;
  const { join } = platform === "win32" ? win32 : posix;
  const folder = kernelFolder(place.env ?? process.env, platform, place.home ?? homedir());
  return {
    folder,
    path: join(folder, "kernel.json"),
    node: place.node ?? process.execPath,
    launcher: place.launcher ?? launcherPath,
    join,
  };
}

function kernelJson(path: string): Record<string, unknown> | undefined {
  if (!existsSync(path)) return undefined;
  try {
    return Object(JSON.parse(readFileSync(path, "utf8")));
  } catch {
    return {};
  }
}

function argvOf(path: string): readonly string[] | undefined {
  const spec = kernelJson(path);
  if (spec === undefined) return undefined;
  return Array.isArray(spec.argv) ? spec.argv.map(String) : [];
}

function refuseForeign(path: string): void {
  const spec = kernelJson(path);
  if (spec === undefined || Object(spec.metadata)[KERNEL_NAME] !== undefined) return;
  throw new PolewrightError(
    "kernel-foreign",
    `${path} was not written by Polewright; it is left alone. Move it away if it is not needed, then try again.`,
  );
}

function onDisk(folder: string, action: () => void): void {
  try {
    action();
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new PolewrightError("kernel-folder", `Jupyter's folder ${folder} cannot be changed: ${reason}`);
  }
}
