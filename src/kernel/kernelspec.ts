/**
 * Makes the notebook kernel known to Jupyter: one JSON file in Jupyter's data folder, and gone again.
 *
 * Source: "Kernel specs" and "Data files" in the Jupyter documentation (jupyter-client, jupyter_core).
 */
import { createHash, randomUUID } from "node:crypto";
import {
  existsSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmdirSync,
  rmSync,
  type Stats,
  writeFileSync,
} from "node:fs";
import { homedir } from "node:os";
import { posix, win32 } from "node:path";
import { PolewrightError } from "../errors.js";
import { nightPageStyle } from "../notebook/night-page.js";
import { missingPackages } from "./kernel-packages.js";
import { launcherPath } from "./launcher-path.js";
import { kernelLogo } from "./logo.js";

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
  /** Whether notebooks start red on black. */
  readonly night?: boolean;
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

/** What Jupyter looks for beside `kernel.json`. */
const LOGO_FILE = "logo-svg.svg";
/** The classic Notebook runs it as soon as a notebook has this kernel, trusted or not: the page is dark before any cell ran. */
const NIGHT_FILE = "kernel.js";
/** The logo of version 0.1, which did not note what it wrote. */
const FIRST_LOGO = "fd92b564fb892c1683193067c8e53947af89d9b83e14c99fcb64dcc01472f3c8";

/**
 * The text of `kernel.json`. It notes how the logo was written, so that only that one is removed.
 *
 * @param node - absolute path of the program that runs the kernel
 * @param launcher - absolute path of the kernel's script
 * @param options - whether notebooks start red on black, and on which platform
 */
export function kernelspecText(
  node: string,
  launcher: string,
  options: { readonly night?: boolean; readonly platform?: string } = {},
): string {
  const theme = options.night ? "night" : "light";
  const spec = {
    argv: [node, launcher, "{connection_file}"],
    display_name: KERNEL_DISPLAY_NAME,
    language: "typescript",
    // On Windows a signal would end the process.
    interrupt_mode: options.platform === "win32" ? "message" : "signal",
    ...(options.night ? { env: { POLEWRIGHT_THEME: theme } } : {}),
    metadata: { [KERNEL_NAME]: { launcher, logo: digest(kernelLogo(theme)) } },
  };
  return `${JSON.stringify(spec, null, 1)}\n`;
}

/** How our module begins. */
const OURS = "/* Polewright */ ";

/** Whether a module is one that was written here. */
function isOurs(path: string): boolean {
  return stat(path)?.isFile() === true && readFileSync(path, "utf8").startsWith(OURS);
}

/** The night's style as a module of RequireJS, as the classic Notebook wants it. */
function nightModule(): string {
  const style = JSON.stringify(nightPageStyle());
  return `${OURS}define({ onload() { document.head.insertAdjacentHTML("beforeend", ${style}); } });\n`;
}

function digest(content: string | Uint8Array): string {
  return createHash("sha256").update(content).digest("hex");
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
  const { folder, path, node, launcher, platform, join } = resolved(place);
  const { night = false } = place;
  if (!existsSync(launcher)) {
    throw new PolewrightError(
      "kernel-launcher",
      `The kernel's script ${launcher} is missing: build the package first (npm run build), or install it again.`,
    );
  }
  refuseForeign(folder, path);
  onDisk(folder, () => {
    mkdirSync(folder, { recursive: true });
    const logo = join(folder, LOGO_FILE);
    // A logo of the user's own stays.
    if (stat(logo) === undefined || digestOf(logo) === writtenLogo(path)) {
      replace(logo, kernelLogo(night ? "night" : "light"));
    }
    const module = join(folder, NIGHT_FILE);
    if (isOurs(module)) rmSync(module);
    // A module of the user's own stays, too.
    if (night && stat(module) === undefined) replace(module, nightModule());
    replace(path, kernelspecText(node, launcher, { night, platform }));
  });
  return {
    folder,
    present: true,
    text: [
      `The kernel "${KERNEL_DISPLAY_NAME}" is known to Jupyter now: ${folder}`,
      night
        ? "Its notebooks start red on black; for black on white: polewright kernel add"
        : "Its notebooks start black on white; for red on black: polewright kernel add --night",
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
  const { folder, path, join } = resolved(place);
  if (stat(folder) === undefined || (stat(path) === undefined && stat(folder)?.isDirectory())) {
    return { folder, present: false, text: `There is no kernel to remove: ${path} does not exist.` };
  }
  refuseForeign(folder, path);
  const left = onDisk(folder, () => {
    const logo = join(folder, LOGO_FILE);
    if (digestOf(logo) === writtenLogo(path)) rmSync(logo);
    if (isOurs(join(folder, NIGHT_FILE))) rmSync(join(folder, NIGHT_FILE));
    rmSync(path, { force: true });
    const others = readdirSync(folder);
    if (others.length === 0) rmdirSync(folder);
    return others;
  });
  const text =
    left.length === 0
      ? `The kernel is no longer known to Jupyter: ${folder} is removed.`
      : `The kernel is no longer known to Jupyter. What Polewright did not write was left in ${folder}: ${left.join(", ")}`;
  return { folder, present: false, text };
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
  const missing = [...argv.slice(0, 2).filter((file) => !existsSync(file)), ...missingPackages()];
  const lines = [`The kernel is known to Jupyter: ${path}`, `It starts: ${argv.join(" ")}`];
  if (missing.length > 0) {
    lines.push(
      `It cannot start, for this is missing: ${missing.join(", ")}`,
      "To correct it: polewright kernel add",
    );
  }
  return { folder, present: true, text: lines.join("\n") };
}

interface ResolvedPlace {
  readonly folder: string;
  readonly path: string;
  readonly node: string;
  readonly launcher: string;
  readonly platform: string;
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
    platform,
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

/** What a path itself is, not what a link leads to; nothing where there is nothing. */
function stat(path: string): Stats | undefined {
  try {
    return lstatSync(path);
  } catch {
    // What keeps it from being looked at keeps it from being changed, which is reported.
    return undefined;
  }
}

/** The digest of the logo as it was written. */
function writtenLogo(path: string): unknown {
  const { logo } = Object(Object(kernelJson(path)?.metadata)[KERNEL_NAME]) as { logo?: unknown };
  return logo ?? FIRST_LOGO;
}

/** The digest of a file itself; nothing where there is none, or a link. */
function digestOf(path: string): string | undefined {
  return stat(path)?.isFile() ? digest(readFileSync(path)) : undefined;
}

/** Written aside and renamed: Jupyter never reads half a file, and a link is replaced, not what it leads to. */
function replace(path: string, text: string): void {
  const aside = `${path}.${randomUUID()}`;
  try {
    writeFileSync(aside, text, { flag: "wx" });
    renameSync(aside, path);
  } catch (error) {
    rmSync(aside, { force: true });
    throw error;
  }
}

function refuseForeign(folder: string, path: string): void {
  const link = [folder, path].find((one) => stat(one)?.isSymbolicLink());
  if (link !== undefined) {
    throw new PolewrightError(
      "kernel-foreign",
      `${link} is a link, which Polewright did not make; neither it nor what it leads to is changed. Move it away if it is not needed, then try again.`,
    );
  }
  const spec = kernelJson(path);
  if (spec === undefined || Object(spec.metadata)[KERNEL_NAME] !== undefined) return;
  throw new PolewrightError(
    "kernel-foreign",
    `${path} was not written by Polewright; it is left alone. Move it away if it is not needed, then try again.`,
  );
}

function onDisk<Done>(folder: string, action: () => Done): Done {
  try {
    return action();
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new PolewrightError("kernel-folder", `Jupyter's folder ${folder} cannot be changed: ${reason}`);
  }
}
