import { daylight } from "../../daylight/daylight.js";
import { readMountFile } from "../../files/night-folder.js";
import { daylightReport } from "../../report/daylight-report.js";
import { parseTime } from "../../sky/time.js";
import { type AnswerOptions, give } from "../answer.js";
import { mountPathFor } from "../night-input.js";

export interface DaylightCommandOptions extends AnswerOptions {
  readonly mount?: string;
  readonly at: string;
  readonly tilt?: number;
  readonly finder?: number;
}

/** `polewright daylight --at TIME`. */
export async function daylightCommand(options: DaylightCommandOptions): Promise<void> {
  const mount = readMountFile(mountPathFor(undefined, options.mount));
  const answer = daylight(mount, parseTime(options.at), {
    ...(options.tilt === undefined ? {} : { measuredTiltDeg: options.tilt }),
    ...(options.finder === undefined ? {} : { finderFieldDeg: options.finder }),
  });
  await give({ json: { ...answer }, reports: [daylightReport(answer)], sound: true }, options);
}
