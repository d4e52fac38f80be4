/**
 * The program that Jupyter starts: the kernel in this process, with this package at hand in every notebook.
 *
 * `node launcher.js CONNECTION_FILE [PACKAGE_FOLDER]`
 */
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Connection, connectionFromText } from "./connection.js";
import { demandPackages } from "./kernel-packages.js";

const [configPath, packageFolder] = process.argv.slice(2);
if (configPath === undefined) {
  console.error(
    "Jupyter starts this program with a connection file. To add the kernel to Jupyter: polewright kernel add",
  );
  process.exit(2);
}
let connection: Connection;
try {
  demandPackages();
  connection = connectionFromText(readFileSync(configPath, "utf8"));
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error));
  process.exit(1);
}
// Code that runs in the kernel can ask for this to know that it is in a notebook.
process.env.POLEWRIGHT_NOTEBOOK = "1";
// A terminal behind Jupyter is no reason to colour what a notebook prints.
process.env.NODE_DISABLE_COLORS ??= "1";
const ownRoot = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
const { serveKernel } = await import("./serve.js");
serveKernel({ connection, ownRoot: packageFolder ?? ownRoot, notebookFolder: process.cwd() });
