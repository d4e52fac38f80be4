/**
 * The packages that only notebooks need. They are large, and tslab brings a TypeScript compiler of its own, whose command
 * would hide that of a project which uses this library: so they are fetched when the kernel is added, into a folder that
 * only the kernel's script looks into.
 */
import { spawnSync } from "node:child_process";
import { createRequire } from "node:module";
import { dirname } from "node:path";
import { PolewrightError } from "../errors.js";
import { launcherPath } from "./launcher-path.js";

const requireAsKernel = createRequire(launcherPath);

/** Where they are fetched to: beside the kernel's script, where Node looks first. It goes when the package goes. */
export const PACKAGES_FOLDER = dirname(launcherPath);

/** What is to be run to fetch packages, for tests. */
export type Fetch = (folder: string, packages: readonly string[]) => number | null;

/** The packages and their versions, as this package's package.json names them. */
function wanted(): Readonly<Record<string, string>> {
  const { peerDependencies } = requireAsKernel("../../package.json") as {
    peerDependencies: Record<string, string>;
  };
  return peerDependencies;
}

/** Those that are not there, with their versions: `name@version`. */
export function missingPackages(): string[] {
  return Object.entries(wanted())
    .filter(([name]) => !isThere(name))
    .map(([name, version]) => `${name}@${version}`);
}

function isThere(name: string): boolean {
  try {
    requireAsKernel.resolve(`${name}/package.json`);
    return true;
  } catch {
    return false;
  }
}

/**
 * Fetches what is missing, by npm; does nothing, and needs no network, where all is there.
 *
 * @param tell - told before something is fetched
 * @param fetch - for tests
 * @throws PolewrightError `kernel-packages` where that does not succeed
 */
export function fetchPackages(
  tell: (text: string) => void,
  { missing = missingPackages(), fetch = fetchByNpm }: { missing?: readonly string[]; fetch?: Fetch } = {},
): void {
  if (missing.length === 0) return;
  tell(`Fetching what only notebooks need, about 100 MB once unpacked: ${missing.join(", ")}`);
  if (fetch(PACKAGES_FOLDER, missing) === 0) return;
  throw new PolewrightError(
    "kernel-packages",
    `${missing.join(" and ")} could not be fetched; npm said why above. It takes npm, a connection to its registry this once, and the right to write to ${PACKAGES_FOLDER}. ${byHand(missing)} The library and all commands but run and kernel work without.`,
  );
}

/**
 * Says so where notebooks cannot be run yet.
 *
 * @throws PolewrightError `kernel-packages`
 */
export function demandPackages(): void {
  const missing = missingPackages();
  if (missing.length === 0) return;
  throw new PolewrightError(
    "kernel-packages",
    `Notebooks need ${missing.join(" and ")}, which are fetched once: polewright kernel add. ${byHand(missing)}`,
  );
}

function byHand(missing: readonly string[]): string {
  return `By hand: npm ${npmArguments(PACKAGES_FOLDER, missing).join(" ")}`;
}

function npmArguments(folder: string, packages: readonly string[]): string[] {
  return [
    "install",
    "--prefix",
    folder,
    "--no-save",
    "--no-package-lock",
    "--no-audit",
    "--no-fund",
    ...packages,
  ];
}

function fetchByNpm(folder: string, packages: readonly string[]): number | null {
  const given = npmArguments(folder, packages);
  // Its answer is no part of ours.
  const stdio = ["ignore", 2, 2] as ["ignore", number, number];
  // npx says where its npm is; on Windows npm itself is a script that only a shell starts.
  const script = process.env.npm_execpath;
  const ownNpm = script !== undefined && /np[mx]-cli\.js$/.test(script);
  if (ownNpm) {
    const npm = script.replace(/npx-cli\.js$/, "npm-cli.js");
    return spawnSync(process.execPath, [npm, ...given], { stdio }).status;
  }
  const isWindows = process.platform === "win32";
  const quoted = isWindows ? given.map((text) => `"${text}"`) : given;
  return spawnSync("npm", quoted, { stdio, shell: isWindows }).status;
}
