import type { Command } from "commander";

/** The commands of an evening's work. */
export function addEveningCommands(_program: Command): void {}
