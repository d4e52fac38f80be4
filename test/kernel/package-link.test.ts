import { cpSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import {
  type DiskView,
  packageRoot,
  resolveWithLink,
  showLinks,
  watchLess,
} from "../../src/kernel/package-link.js";
import { fixturePackage, testFolder } from "./support.js";

describe("the package in a notebook's folder", () => {
  it("is this one where none is installed there, else the installed one", () => {
    const folder = testFolder();
    expect(packageRoot("polewright", folder, "/own")).toBe("/own");
    const installed = join(folder, "node_modules", "polewright");
    mkdirSync(join(folder, "notebooks"));
    cpSync(fixturePackage, installed, { recursive: true });
    expect(packageRoot("polewright", join(folder, "notebooks"), "/own")).toBe(installed);
    expect(packageRoot("polewright", fixturePackage, "/own")).toBe(fixturePackage.replace(/[\\/]$/, ""));
  });

  it("is seen by the type checker as through a link, and the rest of the disk as it is", () => {
    const files = new Map([
      ["/lib/polewright/package.json", "{}"],
      ["/home/n/a.ts", "a"],
    ]);
    const folders = ["/lib", "/lib/polewright", "/home", "/home/n"];
    const disk: DiskView = {
      readFile: (path) => files.get(path),
      fileExists: (path) => files.has(path),
      directoryExists: (path) => folders.includes(path),
      getDirectories: (path) =>
        folders.filter((one) => one.startsWith(`${path}/`)).map((one) => one.slice(path.length + 1)),
      realpath: (path) => path,
    };
    showLinks(disk, [{ at: "/home/n/node_modules/polewright", target: "/lib/polewright" }]);
    expect(disk.readFile("/home/n/node_modules/polewright/package.json")).toBe("{}");
    expect(disk.fileExists("\\home\\n\\node_modules\\polewright\\package.json")).toBe(true);
    expect(disk.fileExists("/home/n/node_modules/polewright-other/package.json")).toBe(false);
    expect(disk.directoryExists("/home/n/node_modules")).toBe(true);
    expect(disk.directoryExists("/home/n/node_modules/polewright")).toBe(true);
    expect(disk.directoryExists("/home/n/other")).toBe(false);
    expect(disk.getDirectories("/home/n/node_modules")).toEqual(["polewright"]);
    expect(disk.realpath?.("/home/n/node_modules/polewright/package.json")).toBe(
      "/lib/polewright/package.json",
    );
    expect(disk.readFile("/home/n/a.ts")).toBe("a");
  });

  it("is found by the module loader only where it is not found otherwise", () => {
    const missing = Object.assign(new Error("no"), { code: "MODULE_NOT_FOUND" });
    const usual = (request: string): string => {
      if (request.startsWith("polewright") || request === "gone") throw missing;
      return `found ${request}`;
    };
    const resolve = resolveWithLink(usual, "polewright", "/lib/polewright");
    expect(resolve("polewright")).toBe("found /lib/polewright");
    expect(resolve("polewright/package.json")).toBe("found /lib/polewright/package.json");
    expect(resolve("fs")).toBe("found fs");
    expect(() => resolve("gone")).toThrow(missing);
    expect(() => resolve("polewright-other")).toThrow(missing);
    const installed = resolveWithLink((request) => `installed ${request}`, "polewright", "/lib/polewright");
    expect(installed("polewright")).toBe("installed polewright");
    const broken = resolveWithLink(
      () => {
        throw new Error("broken");
      },
      "polewright",
      "/lib/polewright",
    );
    expect(() => broken("polewright")).toThrow("broken");
  });

  it("is not watched for changes; the notebook's own files are", () => {
    const watched: string[] = [];
    const watch = (path: string) => {
      watched.push(path);
      return { close: () => {} };
    };
    const disk = { watchFile: watch, watchDirectory: watch };
    watchLess(disk, ["/lib/polewright/dist"]);
    for (const path of ["/n/a.ts", "/n/node_modules/x/a.d.ts", "/lib/polewright/dist/index.d.ts"])
      disk.watchFile(path);
    for (const path of ["/n", "/n/node_modules", "/lib/polewright/dist", "/lib/polewright/distant"])
      disk.watchDirectory(path);
    expect(watched).toEqual(["/n/a.ts", "/n", "/lib/polewright/distant"]);
  });

  it("may be any folder: a link's ancestors need not exist", () => {
    const folder = testFolder();
    writeFileSync(join(folder, "package.json"), '{"name":"other"}');
    expect(packageRoot("polewright", folder, "/own")).toBe("/own");
  });
});
