import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { flag, place, positive, text } from "../../answers/takes.js";
import { TURNED_FILE, turnedBefore } from "../../answers/turns.js";
import type { Move } from "../../base/turn-advice.js";
import { faultText, InputError, PolewrightError } from "../../errors.js";
import { readPictureFile } from "../../files/fits-file.js";
import { openNightFiles } from "../../files/night-folder.js";
import { evidenceOf } from "../../fit/evidence.js";
import { fitMount } from "../../fit/mount-fit.js";
import { BaseWatch, type WatchedPicture } from "../../sight/watch.js";
import { formatTime } from "../../sky/time.js";
import { eastOrWest, highOrLow } from "../../words/directions.js";
import { plainText } from "../../words/escape.js";
import { largeLetters } from "../../words/large-letters.js";
import { fixed } from "../../words/numbers.js";
import { deed } from "../deed.js";
import { checkTheme, themeOption } from "../drive.js";
import { diskReading, mountPathFor, nightPathFor } from "../reading.js";
import { coloursOf, inColours } from "../terminal.js";

/** How often the folder is looked at: a picture is told within a second. */
const LOOK_MS = 200;

/** `polewright watch FOLDER NIGHT.csv`. */
export const watch = deed({
  name: "watch",
  asks: "turn the base under a camera: what each solved picture that arrives shows",
  example: "polewright watch pictures my-telescope/night.csv --theme night",
  takes: {
    folder: place("folder", "where solved FITS pictures arrive; axes clamped, drive off"),
    night: place("night", "the night file (.csv), or its folder"),
    mount: text("file", "the mount file; mount.json beside the night file where left out"),
    turned: text(
      "file",
      "the file of turns made before: travel used; turned.csv beside the night file where left out",
    ),
    json: flag("a line of JSON for each picture"),
    tone: flag("sound the terminal's bell at each picture"),
    count: positive("pictures", "end after so many pictures"),
    theme: themeOption,
  },
  async run({ folder, night, mount, turned, json, tone, count, theme }) {
    checkTheme(theme, false, json);
    const book = openNightFiles(mountPathFor(night, mount), nightPathFor(night));
    if (!existsSync(folder) || !statSync(folder).isDirectory()) {
      throw new PolewrightError(
        "folder-missing",
        `${folder}: there is no such folder. Give the folder where pictures arrive.`,
      );
    }
    const fit = fitMount(book.night);
    const { allows, missing } = evidenceOf(fit);
    if (allows !== "advice") {
      const why =
        missing > 0
          ? `${missing} more sightings are needed`
          : (fit.notes[0]?.message ?? "the night does not fit");
      throw new PolewrightError("not-known-yet", `The base is not to be turned by this night yet: ${why}.`);
    }
    const say = (line: string): void => {
      process.stdout.write(inColours(`${plainText(line) || " "}\n`, coloursOf(process.stdout, theme)));
    };
    const ring = tone ? "\x07" : "";
    const path = turned ?? diskReading().beside(night, TURNED_FILE);
    const file = diskReading().textIfThere(path, "file of turns");
    if (turned !== undefined && file === null)
      throw new PolewrightError("file-missing", `${turned}: there is no such file of turns.`);
    const base = new BaseWatch(fit, file === null ? [] : turnedBefore(fit, file, path));
    // The pole's own uncertainty stays, however the base is turned.
    const uncertainty = Math.hypot(fit.pole.altitude.uncertainty, fit.pole.east.uncertainty);
    const known = new Set<string>();
    if (!json) {
      say(
        "Clamp both axes, switch the drive off, touch nothing but the base. One jack at a time; nobody under the frame.",
      );
    }
    for (let told = 0; count === undefined || told < count; ) {
      for (const name of readdirSync(folder).sort()) {
        if (!/\.(fits?|fts)$/i.test(name) || known.has(name)) continue;
        const path = join(folder, name);
        try {
          const shown = base.see(readPictureFile(path, book.mount));
          if (json) process.stdout.write(`${JSON.stringify(jsonOf(path, shown, uncertainty))}\n`);
          else for (const line of wordsOf(name, shown)) say(line);
        } catch (problem) {
          if (!(problem instanceof InputError)) throw problem;
          // One that is still being written is looked at again.
          if (
            problem.code === "fits-cut-short" ||
            (problem.code === "not-fits" && statSync(path).size < 2880)
          )
            continue;
          const [fault] = problem.faults;
          if (json) process.stdout.write(`${JSON.stringify({ file: path, leftOut: faultText(fault!) })}\n`);
          else say(`Left out: ${faultText(fault!)}`);
        }
        known.add(name);
        told++;
        process.stderr.write(ring);
        if (count !== undefined && told >= count) break;
      }
      if (count === undefined || told < count) await delay(LOOK_MS);
    }
  },
});

function jsonOf(file: string, shown: WatchedPicture | string, uncertainty: number): object {
  if (typeof shown === "string") return { file, leftOut: shown };
  const { turned, now, advice, timeMs } = shown;
  return {
    file,
    time: formatTime(timeMs),
    turned,
    remaining: { altitude: advice.aim.altitude - now.altitude, east: -now.east, uncertainty },
    stillToTurn: advice.moves.map(({ adjuster, turns, mm, direction }) => ({
      name: adjuster,
      turns,
      ...(turns === null ? { mm } : {}),
      direction,
    })),
  };
}

function wordsOf(name: string, shown: WatchedPicture | string): string[] {
  if (typeof shown === "string") return [`${name}: ${shown}`];
  const { now, advice } = shown;
  const { altitude, east } = now;
  return [
    "",
    `${name}: the axis points ${fixed(Math.abs(altitude), 1)}′ ${highOrLow(altitude)}, ${fixed(Math.abs(east), 1)}′ ${eastOrWest(east)}.`,
    ...(advice.moves.length === 0
      ? ["STOP HERE: turning more would be as likely to harm as to help.", "", ...largeLetters("stop here")]
      : [...advice.moves.map(amountText), ...inLarge(advice.moves[0]!)]),
  ];
}

function amountText({ adjuster, turns, mm, direction }: Move): string {
  return turns === null
    ? `  ${adjuster}: ${fixed(mm, 1)} mm ${direction}`
    : `  ${adjuster}: ${turns} turns ${direction}`;
}

/** What to turn next, for a hand at the base: its name, how far, which way. */
function inLarge({ adjuster, turns, mm, direction }: Move): string[] {
  const amount = turns === null ? `${fixed(mm, 1)} mm` : `${turns}`;
  return [adjuster, amount, direction].flatMap((words) => ["", ...largeLetters(words)]);
}
