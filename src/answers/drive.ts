/** The drive from a tracked star's course: rate, periodic errors, play, and what to change. */
import { type DriveOptions, drive as plainDrive } from "../drive/drive.js";
import type { DriveResult } from "../drive/drive-result.js";
import type { TrackPoint } from "../drive/drive-track.js";
import { makeTrack, readTrack, type TrackFields } from "../drive/track-file.js";
import { keptStanding, parseKeptModel } from "../keep/keep.js";
import { soundFit } from "../keep/tonight.js";
import type { Mount } from "../mount/mount.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { driveCautions, driveReport } from "../report/drive-report.js";
import { type AnswerNote, question, type Reading, WrongUsage } from "./answer.js";
import { given, inFile } from "./given.js";
import { mountOption } from "./night.js";
import { printable } from "./printable.js";
import { place, positive, text } from "./takes.js";

/**
 * What a tracked star's course tells of the drive. As a cell's last expression it prints as its report.
 *
 * @param track - the course: moments as the track file's columns have them, or from {@link readTrack}
 * @param mount - the mount, with its `drive` where periods are to have a part's name
 * @param options - how the axis stands (a fit or a kept model), the smear allowed
 * @throws InputError with every fault of all moments; `few-moments`, `star-below-horizon`, `track-too-long`
 * @example
 * ```ts
 * drive(readTrack(text, mount), mount, { standing: fit }).rate?.errorPpm;
 * ```
 */
export function drive(
  track: readonly TrackPoint[] | readonly TrackFields[],
  mount: Mount,
  options: DriveOptions = {},
): DriveResult {
  const points = track.every((one) => "timeMs" in one)
    ? (track as readonly TrackPoint[])
    : makeTrack(track as readonly TrackFields[], mount);
  const result = plainDrive(points, mount, options);
  return printable({ ...result }, () => driveReport(result));
}

/** How the axis stands, by a night, a kept model, or not known. */
function standingOf(
  track: string,
  options: {
    readonly mount?: string | undefined;
    readonly night?: string | undefined;
    readonly model?: string | undefined;
  },
  read: Reading,
): { readonly mount: Mount; readonly standing: MountStanding | null; readonly notes: readonly AnswerNote[] } {
  if (options.night !== undefined && options.model !== undefined)
    throw new WrongUsage("error: the axis is known by --night or by --model, not by both");
  if (options.night !== undefined) {
    const { mount, night } = read.night(options.night, options.mount);
    const fit = soundFit(night, options.night);
    return { mount, standing: fit, notes: fit.notes };
  }
  const mount = read.mount(options.mount, track);
  if (options.model === undefined) return { mount, standing: null, notes: [] };
  const kept = parseKeptModel(read.text(options.model, "kept model"), options.model);
  return { mount, standing: keptStanding(kept, mount), notes: [] };
}

/** `polewright drive TRACK.csv`. */
export const driveOf = question({
  name: "drive",
  asks: "the drive's rate and periodic errors from a tracked star's course, and what to change",
  example: "polewright drive my-telescope/track.csv --night my-telescope/night.csv",
  takes: {
    track: place("track", "the file of the star's course"),
    mount: mountOption,
    night: text("file", "sightings that show how the axis stands"),
    model: text("file", "a kept model that says how the axis stands"),
    smear: positive("arcseconds", "the smear allowed (two of the camera's pixels when not given, else 2)"),
  },
  ask({ track: path, smear, ...options }, read) {
    const { mount, standing, notes } = standingOf(path, options, read);
    const track = readTrack(read.text(path, "track"), mount, path);
    const asked = { standing, ...given({ smearArcsec: smear }) };
    return { result: inFile(path, () => plainDrive(track, mount, asked)), notes };
  },
  say: ({ result }) => [driveReport(result)],
  draw: async ({ result }) => (await import("../plots/drive.js")).driveFigures(result),
  json: ({ result }) => driveJson(result),
  notes: ({ notes }) => notes,
});

/** What `drive --json` answers, as data/schema/drive.schema.json describes it: all but what only the figures need. */
export function driveJson({
  course: _course,
  periodogram: _periodogram,
  waves: _waves,
  remedy,
  ...rest
}: DriveResult) {
  return { ...rest, remedy, cautions: driveCautions };
}
