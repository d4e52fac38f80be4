/**
 * A night at the telescope in a notebook: opened from a folder, added to star by star, every line on the disk at once.
 */
import { momentMs } from "../answers/moment.js";
import { printable } from "../answers/printable.js";
import { faultTexts, InputError } from "../errors.js";
import { openNightFolder } from "../files/night-folder.js";
import { practiceCopy } from "../files/practice.js";
import type { Mount } from "../mount/mount.js";
import { formatReading } from "../mount/readings.js";
import type { Night } from "../night/night.js";
import type { Sighting } from "../night/sighting.js";
import { makeSighting, type SightingFields } from "../night/sighting-fields.js";
import type { NextStar } from "../plan/next.js";
import { nextStar } from "../plan/next.js";
import type { PlanOptions } from "../plan/options.js";
import { nextStarReport } from "../report/plan-report.js";
import { judgeSighting } from "../sight/judge.js";
import { readPasted } from "../sight/pasted.js";
import type { IcrsPosition, Star } from "../sky/star.js";
import type { StarName } from "../sky/star-names.js";
import { answersReport, fitSoFar, nightReport } from "./night-report.js";

/** What was read at the axes, in the mount file's unit, or as sexagesimal text. */
export interface AxisReading {
  readonly hourAngle?: number | string | null;
  readonly declination?: number | string | null;
}

/** What else may be said of a sighting. */
export interface SightOptions
  extends Omit<SightingFields, "time" | "star" | "raDeg" | "decDeg" | "hourAngle" | "declination"> {
  /** When the star was centred: ISO 8601 with a zone, or a Date. Now, when not given. */
  readonly at?: string | Date;
}

/** The answer to an entered sighting. */
export interface SightAnswer {
  /** The sighting, counted from 1. */
  readonly row: number;
  /** `accepted`; `entered before`: the same sighting stands already; `doubtful`: it stands, but does not fit. */
  readonly standing: "accepted" | "entered before" | "doubtful";
  /** One line. */
  readonly text: string;
}

/** How a night is opened. */
export interface OpenOptions {
  /** Work on a copy in the system's temporary folder; the folder itself stays as it is. */
  readonly practice?: boolean;
}

/** A night that can be added to. Its sightings are always those on the disk. */
export interface OpenNight extends Night {
  readonly mount: Mount;
  readonly sightings: readonly Sighting[];
  /** Where it is kept. */
  readonly folder: string;
  /**
   * Enters a sighting: the star is centred, these are the readings. It is on the disk when the call returns.
   *
   * @param star - its name (Tab completes it), a star from `findStar`, or ICRS coordinates
   * @param reading - both axes' readings
   * @param options - the time, if it is not now; approach, side, zero set and so on
   * @throws InputError for a faulty entry (nothing is written); an error with the line in it when the disk refuses it
   */
  sight(star: StarName | Star | IcrsPosition, reading: AxisReading, options?: SightOptions): SightAnswer;
  /** Takes a sighting back (the latest, or the given row): the withdrawal is added, nothing is erased. */
  undo(row?: number): string;
  /**
   * Enters a pasted table. Commas, semicolons or tabs separate its columns; a header says which is which, or what stands in
   * them does. All lines are checked before any is written.
   */
  enter(
    lines: TemplateStringsArray | string,
    ...values: readonly (string | number)[]
  ): readonly SightAnswer[];
  /** What a pasted table would be read as: the columns, and a line for each sighting. Nothing is written. */
  preview(lines: string): { readonly text: string };
  /** Which star to sight next, and why. Null when none is up. */
  next(options?: PlanOptions & { readonly at?: string | Date }): NextStar | null;
  /** Reads the file again after it was edited by hand. */
  reload(): void;
}

/**
 * Opens the night in a folder with `mount.json` and `night.csv`.
 *
 * @param folder - path of the folder
 * @throws InputError with every fault of both files
 * @example
 * ```ts
 * const night = openNight("data/first-light");
 * night.sight("Achernar", { hourAngle: 3121, declination: -1591 });
 * ```
 */
export function openNight(folder: string, options: OpenOptions = {}): OpenNight {
  const original = openNightFolder(folder);
  const book = options.practice ? openNightFolder(practiceCopy(folder)) : original;

  function answer(row: number, standing: SightAnswer["standing"], text: string): SightAnswer {
    const plain = { row, standing, text };
    return printable({ ...plain }, () => answersReport(book.night, [plain]));
  }

  /** What others did to the file meanwhile. */
  function news(): string {
    return book
      .news()
      .map((one) => ` NOTE: ${one.message}`)
      .join("");
  }

  /** The same sighting where it stands already; none where the file is no night any more: entering it then says so. */
  function known(fields: SightingFields): Sighting | null {
    try {
      return sameSighting(book.night, fields) ?? null;
    } catch (problem) {
      if (problem instanceof InputError) return null;
      throw problem;
    }
  }

  function add(fields: SightingFields): SightAnswer {
    const before = known(fields);
    if (before && book.current) {
      return answer(
        before.row,
        "entered before",
        `Row ${before.row}: ${before.star} stands already, with this time and these readings.${news()}`,
      );
    }
    const sighting = book.append(fields);
    const { doubtful, text } = judgeSighting(book.night, sighting);
    const { readings } = book.mount;
    const read = `${formatReading(sighting.hourAngle, readings.hourAngle)}, ${formatReading(sighting.declination, readings.declination)}`;
    return answer(
      sighting.row,
      doubtful ? "doubtful" : "accepted",
      `Row ${sighting.row}: ${sighting.star} at ${sighting.time} (${read}) is on the disk. ${text}${news()}`,
    );
  }

  const night: OpenNight = {
    get mount() {
      return book.mount;
    },
    get sightings() {
      return book.night.sightings;
    },
    get warnings() {
      return book.night.warnings ?? [];
    },
    folder: book.folder,
    sight(star, reading, { at, ...others } = {}) {
      const target =
        typeof star === "string"
          ? { star }
          : "label" in star
            ? { star: star.hip > 0 ? `HIP ${star.hip}` : star.label }
            : { raDeg: star.raDeg, decDeg: star.decDeg };
      return add({ time: at ?? new Date(), ...target, ...reading, ...others });
    },
    undo(row) {
      const taken = book.withdraw(row);
      return `Row ${taken.row} (${taken.star}) is withdrawn; its line stays in the file.${news()}`;
    },
    enter(lines, ...values) {
      const text = typeof lines === "string" ? lines : String.raw({ raw: lines.raw }, ...values);
      const { fields } = readPasted(text, book.mount);
      book.check(fields);
      const answers = fields.map(add);
      return printable(answers, () => answersReport(book.night, answers));
    },
    preview(lines) {
      const { preview, warnings } = readPasted(lines, book.mount);
      const text = [...preview, ...faultTexts(warnings)].join("\n");
      return printable({ text }, () => text);
    },
    next({ at, ...plan } = {}) {
      const nowMs = momentMs(at ?? new Date());
      const fit = fitSoFar(book.night);
      const next = nextStar(book.night, fit?.sound ? fit : null, nowMs, plan);
      return next === null ? null : printable({ ...next }, () => nextStarReport(next));
    },
    reload() {
      book.reload();
    },
  };
  return printable(night, () => nightReport(night, faultTexts(book.warnings)));
}

/**
 * The sighting that says the same already: a cell was run again. A star has several names and a moment several
 * spellings, so it is what they mean that is compared. One that was withdrawn does not stand in the way.
 *
 * @throws InputError with every fault of the fields
 */
function sameSighting({ mount, sightings }: Night, fields: SightingFields): Sighting | undefined {
  const entered = makeSighting(fields, mount, sightings.length + 1);
  return sightings.find(
    (sighting) =>
      (sighting.use || !entered.use) &&
      sighting.timeMs === entered.timeMs &&
      sighting.position.raDeg === entered.position.raDeg &&
      sighting.position.decDeg === entered.position.decDeg &&
      sighting.hourAngle === entered.hourAngle &&
      sighting.declination === entered.declination,
  );
}
