import { type Command, Option } from "commander";
import { withNightOptions } from "./fit-commands.js";

/** Options that say what may be turned. */
function withTurnOptions(command: Command): Command {
  return command
    .addOption(
      new Option("--azimuth-by <means>", "what moves the axis east or west").choices([
        "auto",
        "bolts",
        "tilt",
        "lowerBearing",
        "slide",
      ]),
    )
    .addOption(
      new Option("--altitude-by <means>", "what moves the axis up or down").choices([
        "auto",
        "jacks",
        "lowerBearing",
      ]),
    )
    .addOption(
      new Option("--aim <pole>", "the pole to aim at (true when not given)").choices(["true", "refracted"]),
    );
}

/** The commands at the base: turns and rounds. */
export function addBaseCommands(program: Command): void {
  withTurnOptions(
    withNightOptions(
      program
        .command("turns <night>")
        .description("which jacks and bolts to turn, which way, how far")
        .option("--brief", "the verdict and the amounts only"),
    ),
  ).action(async (night, options) => (await import("./commands/turns.js")).turnsCommand(night, options));

  withTurnOptions(
    withNightOptions(
      program
        .command("rounds <nights...>")
        .description("what rounds of turning did, each adjuster's true gain, and the next turns")
        .requiredOption(
          "--turned <file>",
          "the turns as really made: round,adjuster,turns,direction (required)",
        ),
    ),
  ).action(async (nights, options) => (await import("./commands/rounds.js")).roundsCommand(nights, options));
}
