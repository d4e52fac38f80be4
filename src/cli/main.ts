#!/usr/bin/env node
/**
 * The command line. Each command's code is loaded when it is called, so that a fit answers at once.
 */
import { Command, CommanderError } from "commander";
import { endQuietlyWithoutReader, giveProblem, WRONG_USAGE } from "./answer.js";
import { addBaseCommands } from "./base-commands.js";
import { addEveningCommands } from "./evening-commands.js";
import { addFitCommands } from "./fit-commands.js";
import { addNotebookCommands } from "./notebook-commands.js";
import { packageVersion } from "./version.js";

const program = new Command("polewright");
program
  .description(
    "From star sightings to levelling-jack turns: how an equatorial mount really stands, and how to set it right.",
  )
  .version(packageVersion())
  .showHelpAfterError("(polewright --help tells all commands)")
  .exitOverride();
addFitCommands(program);
addBaseCommands(program);
addEveningCommands(program);
addNotebookCommands(program);
for (const command of program.commands) command.exitOverride();

endQuietlyWithoutReader();
program.parseAsync(process.argv).catch((problem: unknown) => {
  if (problem instanceof CommanderError) process.exitCode = problem.exitCode === 0 ? 0 : WRONG_USAGE;
  else giveProblem(problem, process.argv.includes("--json"));
});
