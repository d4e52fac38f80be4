/**
 * Lets a notebook in any folder import this package by its name, without writing a link into that folder:
 * the links exist only in the eyes of the kernel's module loader and of its type checker.
 */
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";

/** A folder that is seen at another place, both with forward slashes. */
export interface FolderLink {
  /** Where the folder is seen. */
  readonly at: string;
  /** Where it is. */
  readonly target: string;
}

/** The part of TypeScript's view of the disk that module resolution uses. */
export interface DiskView {
  readFile(path: string, encoding?: string): string | undefined;
  fileExists(path: string): boolean;
  directoryExists(path: string): boolean;
  getDirectories(path: string): string[];
  realpath?(path: string): string;
}

/** The part of TypeScript's view of the disk that waits for changes. */
export interface DiskWatch {
  watchFile?(path: string, ...rest: unknown[]): { close(): void };
  watchDirectory?(path: string, ...rest: unknown[]): { close(): void };
}

/** A path with forward slashes, as TypeScript writes it. */
export function slashed(path: string): string {
  return path.replace(/\\/g, "/");
}

/**
 * The folder of the package that `import "polewright"` means in a notebook's folder: the one installed there, else this one.
 *
 * @param name - the package's name
 * @param notebookFolder - the notebook's folder
 * @param ownRoot - this package's folder
 */
export function packageRoot(name: string, notebookFolder: string, ownRoot: string): string {
  try {
    let folder = dirname(createRequire(join(notebookFolder, "notebook.js")).resolve(name));
    while (dirname(folder) !== folder) {
      if (packageName(folder) === name) return folder;
      folder = dirname(folder);
    }
  } catch {
    // Not installed there: the usual case.
  }
  return ownRoot;
}

function packageName(folder: string): unknown {
  const path = join(folder, "package.json");
  if (!existsSync(path)) return undefined;
  return (JSON.parse(readFileSync(path, "utf8")) as { name?: unknown }).name;
}

/**
 * Shows folders to the type checker at places where they are not.
 * `realpath` leads from the link to the folder itself, as with a real link; so the folder's own imports resolve from where it is.
 *
 * @param disk - TypeScript's view of the disk, changed in place
 * @param links - the links; a folder that exists at a link's place is hidden by it
 */
export function showLinks(disk: DiskView, links: readonly FolderLink[]): void {
  const behind = (path: string): string => {
    const seen = slashed(path);
    for (const { at, target } of links) {
      if (seen === at) return target;
      if (seen.startsWith(`${at}/`)) return target + seen.slice(at.length);
    }
    return path;
  };
  const { readFile, fileExists, directoryExists, getDirectories, realpath } = disk;
  disk.readFile = (path, encoding) => readFile.call(disk, behind(path), encoding);
  disk.fileExists = (path) => fileExists.call(disk, behind(path));
  disk.directoryExists = (path) =>
    directoryExists.call(disk, behind(path)) || links.some(({ at }) => at.startsWith(`${slashed(path)}/`));
  disk.getDirectories = (path) => {
    const below = `${slashed(path)}/`;
    const linked = links
      .filter(({ at }) => at.startsWith(below))
      .map(({ at }) => at.slice(below.length).split("/")[0]!);
    const real = directoryExists.call(disk, behind(path)) ? getDirectories.call(disk, behind(path)) : [];
    return [...new Set([...real, ...linked])];
  };
  if (realpath !== undefined) disk.realpath = (path) => realpath.call(disk, behind(path));
}

/**
 * Has only the notebook's own files watched for changes: installed packages stay as they are while a notebook is open,
 * and watching all of them takes time and the system's watches.
 *
 * @param disk - TypeScript's view of the disk, changed in place
 * @param still - folders besides every `node_modules` that are not watched
 */
export function watchLess(disk: DiskWatch, still: readonly string[]): void {
  const isStill = (path: string): boolean => {
    const seen = `${slashed(path)}/`;
    return seen.includes("/node_modules/") || still.some((folder) => seen.startsWith(`${slashed(folder)}/`));
  };
  const nothing = { close: () => {} };
  for (const watch of ["watchFile", "watchDirectory"] as const) {
    const usual = disk[watch];
    if (usual === undefined) continue;
    disk[watch] = (path, ...rest) => (isStill(path) ? nothing : usual.call(disk, path, ...rest));
  }
}

/** Node's own resolution of a request, as `Module._resolveFilename` does it. */
export type Resolve = (this: unknown, request: string, ...rest: unknown[]) => string;

/**
 * Resolution that finds this package where the usual resolution does not.
 *
 * @param resolve - the usual resolution
 * @param name - the package's name
 * @param root - the package's folder
 */
export function resolveWithLink(resolve: Resolve, name: string, root: string): Resolve {
  return function (this: unknown, request, ...rest) {
    if (request !== name && request !== `${name}/package.json`) return resolve.call(this, request, ...rest);
    try {
      return resolve.call(this, request, ...rest);
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "MODULE_NOT_FOUND") throw error;
      return resolve.call(this, root + request.slice(name.length), ...rest);
    }
  };
}
