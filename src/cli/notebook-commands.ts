import type { Command } from "commander";
import { themeOption } from "./fit-commands.js";
import { positiveOption } from "./numbers.js";

/** The commands around notebooks: the kernel, running one without Jupyter, a new folder. */
export function addNotebookCommands(program: Command): void {
  const kernel = program.command("kernel").description("the notebook kernel of this package, for Jupyter");
  for (const [name, text] of [
    ["add", "make the kernel known to Jupyter (no Python needed)"],
    ["remove", "take it away again"],
    ["where", "tell where it is"],
  ] as const) {
    const command = kernel.command(name).description(text).exitOverride();
    if (name === "add") command.option("--night", "start notebooks red on black");
    command.action(async (options) => (await import("./commands/kernel.js")).kernelCommand(name, options));
  }
  program
    .command("run <notebook>")
    .description("run a notebook without Jupyter")
    .option("--out <file>", "write the notebook with its outputs here")
    .option("--html <file>", "write a page that stands on its own here")
    .option("--timeout <seconds>", "stop a cell that takes longer", positiveOption)
    .addOption(themeOption())
    .action(async (notebook, options) => (await import("./commands/run.js")).runCommand(notebook, options));
  program
    .command("new <folder>")
    .description("make a folder ready for a first night: mount.json, night.csv and a notebook")
    .action(async (folder) => (await import("./commands/new.js")).newCommand(folder));
}
