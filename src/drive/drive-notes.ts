/** What a builder must know of a course besides its figures. */
import { DEGREE } from "../angles.js";
import type { Mount } from "../mount/mount.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { statedRateError } from "./drive-parts.js";
import type { DriveNote, DriveResult } from "./drive-result.js";
import type { CourseFit } from "./fit-course.js";

const LOW_ALTITUDE_DEG = 25;

/** What the builder must know of a course. */
export function driveNotes(
  result: DriveResult,
  done: CourseFit,
  mount: Mount,
  standing: MountStanding | null,
  rows: readonly number[],
): DriveNote[] {
  const notes: DriveNote[] = [];
  const add = (code: DriveNote["code"], message: string, remedy: string): void => {
    notes.push({ code, message, remedy });
  };
  const { rate } = result;
  if (rate === null) {
    add(
      "west-missing",
      "The course has no westward way, so nothing is known of the drive.",
      "Note how far the star goes west as well.",
    );
  } else {
    if (rate.fromAxisPpm > 0.5 * rate.uncertaintyPpm && rate.fromAxisPpm > 20) {
      add(
        "axis-unknown",
        `Most of the rate's uncertainty comes from the polar axis and the sags (${rate.fromAxisPpm.toFixed(0)} ppm), not from this course.`,
        standing === null
          ? "Give a night of sightings or a kept model. Or follow two stars or more in one file: one east, one west, one near the celestial equator."
          : "Follow two stars or more in one file: one east, one west, one near the celestial equator.",
      );
    }
    for (const part of done.west!.slow) {
      add(
        "slow-part",
        `The ${part.name} takes ${(part.periodS / 60).toFixed(0)} minutes for a turn, and the course has ${result.spanMinutes.toFixed(0)} minutes of it. Its error cannot be distinguished from the rate.`,
        `Follow for ${(part.periodS / 60).toFixed(0)} minutes or longer.`,
      );
    }
    for (const one of result.periodic) {
      const turns = (60 * result.spanMinutes) / one.periodS;
      if (!one.seen || turns >= 2) continue;
      add(
        "few-turns",
        `The period of ${one.periodS.toFixed(0)} s was seen only ${turns.toFixed(1)} times.`,
        "Follow for three turns to be sure of it.",
      );
    }
  }
  if (mount.drive === null) {
    add(
      "no-parts",
      "The mount file has no drive, so no period has a part's name and no diameter or step rate can be given.",
      "Add the key drive to the mount file: parts with their periods, diameters, step rate.",
    );
  }
  if (result.bumps.length > 0) {
    add(
      "bumped",
      `The star jumped ${result.bumps.length === 1 ? "once" : `${result.bumps.length} times`} (row ${result.bumps.map((bump) => bump.row).join(", ")}). The course was divided there.`,
      "Look for a knock, a cable, a gust or a loose clamp at that time.",
    );
  }
  if (done.faults.misread.size > 0) {
    const named = [...done.faults.misread].sort((a, b) => a - b).map((place) => rows[place]!);
    add(
      "misread",
      `${named.length === 1 ? "One moment lies" : `${named.length} moments lie`} far off and ${named.length === 1 ? "was" : "were"} left out (row ${named.slice(0, 8).join(", ")}${named.length > 8 ? " …" : ""}).`,
      "Check these pictures.",
    );
  }
  if (result.play.length > 0) {
    add(
      "play",
      `At the beginning of ${result.play.length === 1 ? "a stretch" : `${result.play.length} stretches`} the axis stood still before it moved: play is taken up.`,
      "Approach every star from the east, so that the drive pushes at once. Or wait that long before exposing.",
    );
  }
  if ((result.polar?.sigmas ?? 0) > 3) {
    add(
      "polar-disagrees",
      `The drift northward does not fit the axis of the sightings (${result.polar!.sigmas!.toFixed(1)} σ).`,
      "Check the camera's orientation and the sign of north; then sight some stars again.",
    );
  }
  const lowest = Math.min(...done.segments.map((segment) => segment.start.altitude / DEGREE));
  if (lowest < LOW_ALTITUDE_DEG) {
    add(
      "low-star",
      `The star stood at ${lowest.toFixed(0)}° only. Refraction there changes with the weather, and the rate with it.`,
      `Follow a star above ${LOW_ALTITUDE_DEG}°.`,
    );
  }
  const together = done.west?.way.averaged ?? 1;
  if (together > 1) {
    add("averaged", `Always ${together} moments were averaged, for there are very many.`, "Nothing to do.");
  }
  const stated = statedRateError(mount.drive);
  if (stated !== null && Math.abs(stated) > 20) {
    add(
      "stated-gearing",
      `By the mount file's own gearing the drive should run ${Math.abs(stated).toFixed(0)} ppm too ${stated < 0 ? "slow" : "fast"}.`,
      "Check stepRateHz, stepsPerTurn and reduction.",
    );
  }
  return notes;
}
