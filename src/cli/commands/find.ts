import { InputError, shown } from "../../errors.js";
import { writeOutputFile } from "../../files/output-file.js";
import { classList } from "../../find/class-list.js";
import { findTargets } from "../../find/find.js";
import type { Mount } from "../../mount/mount.js";
import { readingFromText } from "../../mount/readings.js";
import type { PresentReadings } from "../../pointing/axis-move.js";
import { classListCsv, classListReport } from "../../report/class-list-report.js";
import { findReport } from "../../report/find-report.js";
import { parseTime } from "../../sky/time.js";
import { type AnswerOptions, give, WrongUsage } from "../answer.js";
import { mountPathFor } from "../night-input.js";
import { knownTonight } from "../standing.js";

export interface FindCommandOptions extends AnswerOptions {
  readonly mount?: string;
  readonly at: string;
  readonly until?: string;
  readonly now?: string;
  readonly model?: string;
  readonly csv?: string;
  readonly daylight?: boolean;
}

/** What the axes read now, from `--now HOURANGLE,DECLINATION`, with `,beyond` where the tube is turned over. */
function presentReadings(text: string, mount: Mount): PresentReadings {
  const parts = text.split(",").map((part) => part.trim());
  const side = parts[2] ?? "normal";
  if (parts.length < 2 || parts.length > 3 || (side !== "normal" && side !== "beyond")) {
    throw new InputError([
      {
        code: "present-readings",
        path: "--now",
        found: shown(text),
        allowed:
          "both readings with a comma between, for instance --now 3121,-1591, and after another comma the side (normal or beyond) where the tube may be turned over",
        message: "These are not two readings.",
      },
    ]);
  }
  return {
    hourAngle: readingFromText(parts[0]!, mount.readings.hourAngle),
    declination: readingFromText(parts[1]!, mount.readings.declination),
    ...(parts.length === 3 ? { side } : {}),
  };
}

/** `polewright find NIGHT.csv --at TIME TARGET…`; with `--until` the list for an evening. */
export async function findCommand(
  nightPath: string,
  targets: readonly string[],
  options: FindCommandOptions,
): Promise<void> {
  if (options.until === undefined) {
    if (options.csv !== undefined) {
      throw new WrongUsage("error: option --csv writes the evening's list, so it needs --until as well");
    }
    if (targets.length === 0) {
      throw new WrongUsage("error: name a target, or give --until for the evening's list");
    }
  }
  const { mount, standing } = knownTonight(mountPathFor(nightPath, options.mount), nightPath, options.model);
  const atMs = parseTime(options.at);
  if (options.until !== undefined) {
    const list = classList(
      mount,
      standing,
      atMs,
      parseTime(options.until),
      targets.length > 0 ? targets : "showpieces",
    );
    if (options.csv !== undefined) writeOutputFile(options.csv, classListCsv(list), "class list", "--csv");
    await give({ json: { ...list }, reports: [classListReport(list)], sound: true }, options);
    return;
  }
  const finding = findTargets(mount, standing, atMs, targets, {
    present: options.now === undefined ? null : presentReadings(options.now, mount),
    daylight: options.daylight ?? false,
  });
  await give({ json: { ...finding }, reports: [findReport(finding)], sound: true }, options);
}
