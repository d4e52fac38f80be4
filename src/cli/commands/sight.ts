import { given } from "../../answers/given.js";
import { onlyWith, onlyWithout, place, places, text } from "../../answers/takes.js";
import { type Fault, fault, faultText, InputError } from "../../errors.js";
import { readPictureFile } from "../../files/fits-file.js";
import { type NightFolder, openNightFiles } from "../../files/night-folder.js";
import type { SightingFields } from "../../night/sighting-fields.js";
import { pictureFields } from "../../sight/fits-sighting.js";
import { plainText } from "../../words/escape.js";
import { deed } from "../deed.js";
import { themeOption } from "../drive.js";
import { mountPathFor, nightPathFor } from "../reading.js";

/** `polewright sight NIGHT.csv`. */
export const sight = deed({
  name: "sight",
  asks: "enter sightings at the telescope, or from solved pictures",
  example: "polewright sight my-telescope/night.csv",
  takes: {
    night: place("night", "the night file (.csv), or its folder"),
    mount: text("file", "the mount file; mount.json beside the night file where left out"),
    fits: text("file", "take this solved picture, and all files named after it, as sightings"),
    pictures: places("pictures", "with --fits: further pictures"),
    ...onlyWith("fits", {
      group: text("label", "the pictures' declination axis was locked in one setting of this name"),
    }),
    ...onlyWithout("fits", { theme: themeOption }),
  },
  async run({ night, mount, fits, pictures, group, theme }) {
    const book = openNightFiles(mountPathFor(night, mount), nightPathFor(night));
    if (fits !== undefined) {
      enterPictures(book, [fits, ...pictures], group);
      return;
    }
    if (pictures.length > 0) {
      throw new InputError(
        fault(
          "stray-word",
          { path: pictures[0]! },
          "There is a word too many.",
          "further files only with --fits",
        ),
      );
    }
    const { enterAtTelescope } = await import("../sight-prompt.js");
    await enterAtTelescope(book, given({ theme }));
  },
});

/** All pictures are read before any is written; those that stand already are passed over. */
function enterPictures(book: NightFolder, files: readonly string[], group: string | undefined): void {
  const faults: Fault[] = [];
  const all: SightingFields[] = [];
  for (const file of files) {
    try {
      all.push(pictureFields(readPictureFile(file, book.mount), group));
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      faults.push(...problem.faults);
    }
  }
  if (faults.length > 0) throw new InputError(faults);
  const there = new Set(
    book.night.sightings.map(({ timeMs, position }) => `${timeMs} ${position.raDeg} ${position.decDeg}`),
  );
  const fresh = all.filter(
    ({ time, raDeg, decDeg }) => !there.has(`${Date.parse(String(time))} ${raDeg} ${decDeg}`),
  );
  book.check(fresh);
  const entered = book.appendAll(fresh);
  const known = all.length - fresh.length;
  const lines = [
    `${entered.length} ${entered.length === 1 ? "picture is" : "pictures are"} in ${book.nightPath}${known === 0 ? "" : `; ${known} stood there already`}.`,
    ...entered.map(({ row, time, star }) => `  Row ${row}: ${time}  ${star}`),
    ...book.news().map(faultText),
  ];
  process.stdout.write(`${plainText(lines.join("\n"))}\n`);
}
