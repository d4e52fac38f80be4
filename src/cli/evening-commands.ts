import type { Command } from "commander";
import { themeOption, withNightOptions } from "./fit-commands.js";
import { numberOption, positiveOption, timeOption } from "./numbers.js";

function withAnswerOptions(command: Command): Command {
  return command
    .option("--json", "answer as JSON")
    .option("--html <file>", "write a page too")
    .addOption(themeOption());
}

/** The commands of an evening's work: planning, finding, drift, exposure, keeping, and the day before. */
export function addEveningCommands(program: Command): void {
  withAnswerOptions(
    program
      .command("plan")
      .description("which stars to sight next, by what they teach")
      .option("--mount <file>", "the mount file (default: mount.json beside --night, or in this folder)")
      .requiredOption(
        "--from <time>",
        "when the first star is sighted, ISO 8601 with its zone (required)",
        timeOption,
      )
      .option("--stars <number>", "how many stars", positiveOption)
      .option("--night <file>", "tonight's sightings so far")
      .option("--model <file>", "a kept model")
      .option("--to-learn <term>", "pole (default) or the term that the stars are to teach")
      .option("--minutes <number>", "from one sighting to the next", positiveOption)
      .option("--faintest <magnitude>", "the faintest star", numberOption)
      .option("--teach", "the star that teaches most first, whatever the walking")
      .option("--daylight", "stars while the Sun is up, never within 30° of it"),
  ).action(async (options) => (await import("./commands/plan.js")).planCommand(options));

  withAnswerOptions(
    program
      .command("find <night> [targets...]")
      .description("readings for stars, planets, the Moon, clusters, nebulae, galaxies or coordinates")
      .option("--mount <file>", "the mount file (default: mount.json beside the night file)")
      .requiredOption("--at <time>", "when, ISO 8601 with its zone (required)", timeOption)
      .option(
        "--until <time>",
        "a list for the evening from --at to this time; without targets, of every showpiece",
        timeOption,
      )
      .option(
        "--now <readings>",
        "both axes' present readings, with a comma between; and ,beyond where the tube is turned over",
      )
      .option("--model <file>", "a kept model; the night then only sets the zeros")
      .option("--csv <file>", "write the evening's list as CSV (with --until)")
      .option("--daylight", "while the Sun is up, never within 30° of it"),
  ).action(async (night, targets, options) =>
    (await import("./commands/find.js")).findCommand(night, targets, options),
  );

  withNightOptions(
    program
      .command("drift <drifts>")
      .description("the axis error from drifting stars")
      .option("--night <file>", "sightings to hold the drifts against"),
  ).action(async (drifts, options) => (await import("./commands/drift.js")).driftCommand(drifts, options));

  withNightOptions(
    program
      .command("exposure <night> [targets...]")
      .description("how long an exposure may be, and whether the mount is good enough")
      .option("--at <time>", "when it begins, for targets by name", timeOption)
      .option("--seconds <number>", "the exposure wanted (60 when not given)", positiveOption)
      .option(
        "--smear <pixels>",
        "the smear allowed (2 when not given; without a camera: arcseconds, 60)",
        positiveOption,
      )
      .option("--field <degrees>", "an eyepiece's field instead of the camera's", positiveOption)
      .option("--guided", "a guider holds one star"),
  ).action(async (night, targets, options) =>
    (await import("./commands/exposure.js")).exposureCommand(night, targets, options),
  );

  withNightOptions(
    program
      .command("keep <night>")
      .description("keep a night's model for other nights")
      .requiredOption("--out <file>", "the file to write (required)")
      .option("--note <text>", "what to remember of it"),
  ).action(async (night, options) => (await import("./commands/keep.js")).keepCommand(night, options));

  withNightOptions(
    program
      .command("compare <old> <new>")
      .description("what has changed between two nights or kept models, beyond its uncertainties"),
  ).action(async (older, newer, options) =>
    (await import("./commands/compare.js")).compareCommand(older, newer, options),
  );

  withAnswerOptions(
    program
      .command("daylight")
      .description("tilt, true north by the shadow and by compass, before the first star")
      .option("--mount <file>", "the mount file (default: mount.json in this folder)")
      .requiredOption("--at <time>", "the day, ISO 8601 with its zone (required)", timeOption)
      .option("--tilt <degrees>", "the axis's tilt as measured", numberOption)
      .option("--finder <degrees>", "the finder's field", positiveOption),
  ).action(async (options) => (await import("./commands/daylight.js")).daylightCommand(options));

  withNightOptions(
    program
      .command("explain <term>")
      .description("what an error is, how it shows, how to mend it")
      .option("--night <file>", "with this night's value"),
  ).action(async (term, options) => (await import("./commands/explain.js")).explainCommand(term, options));
}
