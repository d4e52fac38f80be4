#!/usr/bin/env node
/**
 * The command line. Only the code of the command that is called is loaded, so that a fit answers at once.
 */
import { Command, CommanderError } from "commander";
import { questions } from "../answers/list.js";
import { plainText } from "../words/escape.js";
import { deeds } from "./deeds.js";
import { deedCommand, questionCommand } from "./drive.js";
import { endQuietlyWithoutReader, giveProblem, WRONG_USAGE } from "./give.js";
import { themeAmong } from "./terminal.js";
import { packageVersion } from "./version.js";

/** The one command that is called; all of them where none is, for the help; none for the version. */
async function commands(called: string | undefined): Promise<Command[]> {
  if (called === "--version" || called === "-V") return [];
  const wanted = (names: readonly string[]): readonly string[] =>
    called !== undefined && (Object.hasOwn(questions, called) || Object.hasOwn(deeds, called))
      ? names.filter((name) => name === called)
      : names;
  return Promise.all([
    ...wanted(Object.keys(questions)).map(async (name) => questionCommand(await questions[name]!())),
    ...wanted(Object.keys(deeds)).map(async (name) => deedCommand(await deeds[name]!())),
  ]);
}

// What was typed, or is the name of a file, is told back in the terminal.
const output = { writeErr: (text: string) => void process.stderr.write(plainText(text)) };
const program = new Command("polewright");
program
  .configureOutput(output)
  .description(
    "From star sightings to levelling-jack turns: how an equatorial mount really stands, and how to correct it.",
  )
  .version(packageVersion())
  .exitOverride();

async function main(): Promise<void> {
  for (const command of await commands(process.argv[2])) {
    command
      .configureOutput(output)
      .showHelpAfterError(`(polewright ${command.name()} --help lists its options)`);
    program.addCommand(command);
  }
  program.showHelpAfterError("(polewright --help lists all commands)");
  await program.parseAsync(process.argv);
}

endQuietlyWithoutReader();
main().catch((problem: unknown) => {
  if (problem instanceof CommanderError) process.exitCode = problem.exitCode === 0 ? 0 : WRONG_USAGE;
  else giveProblem(problem, { json: process.argv.includes("--json"), theme: themeAmong(process.argv) });
});
