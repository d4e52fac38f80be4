import { InputError, shown } from "../../errors.js";
import { classList } from "../../evening/class-list.js";
import { findTargets } from "../../evening/find.js";
import { writeOutputFile } from "../../files/output-file.js";
import type { Mount } from "../../mount/mount.js";
import { readingFromText } from "../../mount/readings.js";
import { classListCsv, classListReport } from "../../report/class-list-report.js";
import { findReport } from "../../report/find-report.js";
import { parseTime } from "../../sky/time.js";
import { type AnswerOptions, give } from "../answer.js";
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

/** What the axes read now, from `--now HOURANGLE,DECLINATION`. */
function presentReadings(text: string, mount: Mount): { hourAngle: number; declination: number } {
  const parts = text.split(",");
  if (parts.length !== 2) {
    throw new InputError([
      {
        code: "present-readings",
        path: "--now",
        found: shown(text),
        allowed: "both readings with a comma between, for instance --now 3121,-1591",
        message: "These are not two readings.",
      },
    ]);
  }
  return {
    hourAngle: readingFromText(parts[0]!, mount.readings.hourAngle),
    declination: readingFromText(parts[1]!, mount.readings.declination),
  };
}

/** `polewright find NIGHT.csv --at TIME TARGET…`; with `--until` the list for an evening. */
export async function findCommand(
  nightPath: string,
  targets: readonly string[],
  options: FindCommandOptions,
): Promise<void> {
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
