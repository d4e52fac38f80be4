import type { Command } from "commander";
import { themeOption } from "./fit-commands.js";

/** The commands around notebooks: the kernel, running one without Jupyter, a new folder. */
export function addNotebookCommands(program: Command): void {
  const kernel = program.command("kernel").description("the notebook kernel of this package, for Jupyter");
  for (const [name, text] of [
    ["add", "make the kernel known to Jupyter (no Python needed)"],
    ["remove", "take it away again"],
    ["where", "tell where it is"],
  ] as const) {
    kernel
      .command(name)
      .description(text)
      .action(async () => (await import("./commands/kernel.js")).kernelCommand(name))
      .exitOverride();
  }
  program
    .command("run <notebook>")
    .description("run a notebook without Jupyter")
    .option("--out <file>", "write the notebook with its outputs here")
    .option("--html <file>", "write a page that stands on its own here")
    .addOption(themeOption())
    .action(async (notebook, options) => (await import("./commands/run.js")).runCommand(notebook, options));
  program
    .command("new <folder>")
    .description("make a folder ready for a first night: mount.json, night.csv and a notebook")
    .action(async (folder) => (await import("./commands/new.js")).newCommand(folder));
}
