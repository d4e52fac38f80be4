import { type Command, Option } from "commander";

/** The theme of a page. */
export function themeOption(): Option {
  return new Option("--theme <name>", "for the page").choices(["light", "night"]);
}

/** Options that every command on a night has. */
export function withNightOptions(command: Command): Command {
  return command
    .option("--mount <file>", "the mount file (default: mount.json beside the night file)")
    .option("--terms <names>", "fit just these terms, comma-separated, without prior knowledge")
    .option("--as-entered", "doubt nothing: every sighting counts as entered")
    .option("--trust-clock", "the hour-angle zero truly stands where it is")
    .option("--json", "answer as JSON")
    .option("--html <file>", "write a page with the pictures too")
    .addOption(themeOption());
}

/** The commands that fit a night. */
export function addFitCommands(program: Command): void {
  withNightOptions(
    program.command("fit <night>").description("how the mount stands, from a night's sightings (night.csv)"),
  ).action(async (night, options) => (await import("./commands/fit.js")).fitCommand(night, options));
}
