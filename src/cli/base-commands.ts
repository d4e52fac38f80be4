import type { Command } from "commander";
import { withNightOptions } from "./fit-commands.js";

/** Options that say what may be turned. */
export function withTurnOptions(command: Command): Command {
  return command
    .option("--azimuth-by <means>", "auto, bolts, tilt, lowerBearing or slide")
    .option("--altitude-by <means>", "auto, jacks or lowerBearing")
    .option("--aim <pole>", "true (default) or refracted");
}

/** The commands at the base: turns and rounds. */
export function addBaseCommands(program: Command): void {
  withTurnOptions(
    withNightOptions(
      program.command("turns <night>").description("which jacks and bolts to turn, which way, how far"),
    ),
  ).action(async (night, options) => (await import("./commands/turns.js")).turnsCommand(night, options));
}
