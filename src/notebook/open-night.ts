/**
 * A night at the telescope in a notebook: opened from a folder, added to star by star, every line on the disk at once.
 */
import { copyFileSync, mkdtempSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { momentMs } from "../answers/moment.js";
import { printable } from "../answers/printable.js";
import { faultText, InputError } from "../errors.js";
import { MOUNT_FILE, NIGHT_FILE, openNightFolder } from "../files/night-folder.js";
import { fitMount } from "../fit/mount-fit.js";
import type { Mount } from "../mount/mount.js";
import { formatReading } from "../mount/readings.js";
import type { Night } from "../night/night.js";
import { readNight } from "../night/night-file.js";
import type { Sighting } from "../night/sighting.js";
import { makeSighting, type SightingFields } from "../night/sighting-fields.js";
import type { NextStar } from "../plan/next.js";
import { nextStar } from "../plan/next.js";
import type { PlanOptions } from "../plan/options.js";
import { nextStarReport } from "../report/plan-report.js";
import type { Report } from "../report/report.js";
import type { IcrsPosition, Star } from "../sky/star.js";
import type { StarName } from "../sky/star-names.js";

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
   * Enters a pasted table: CSV lines of time, star, hourAngle, declination, or with a header line of their own. All
   * lines are checked before any is written.
   */
  enter(
    lines: TemplateStringsArray | string,
    ...values: readonly (string | number)[]
  ): readonly SightAnswer[];
  /** Which star to sight next, and why. Null when none is up. */
  next(options?: PlanOptions & { readonly at?: string | Date }): NextStar | null;
  /** Reads the file again after it was edited by hand. */
  reload(): void;
}

/** With fewer sightings than this a new one cannot be judged. */
const JUDGED_FROM = 7;

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

  /** The sighting is on the disk: whatever its judgement meets, it must not seem lost and be entered again. */
  function judged(row: number): { standing: SightAnswer["standing"]; text: string } {
    try {
      return fitted(row);
    } catch (problem) {
      const reason = problem instanceof Error ? problem.message : String(problem);
      return { standing: "doubtful", text: `It could not be held against the others: ${reason}` };
    }
  }

  function fitted(row: number): { standing: SightAnswer["standing"]; text: string } {
    const used = book.night.sightings.filter((sighting) => sighting.use).length;
    if (used < JUDGED_FROM) {
      const missing = JUDGED_FROM - used;
      return { standing: "accepted", text: `${missing} more and each new one can be judged.` };
    }
    const fit = fitMount(book.night);
    const residual = fit.residuals.find((other) => other.row === row);
    if (residual === undefined) return { standing: "accepted", text: "" };
    if (!fit.sound) return { standing: "doubtful", text: fit.notes[0]?.message ?? "The night does not fit." };
    if (residual.standing === "used") {
      return { standing: "accepted", text: `It fits to ${residual.distance.toFixed(1)}′.` };
    }
    const note = fit.notes.find((other) => other.row === row);
    return { standing: "doubtful", text: note ? `${note.message} ${note.remedy}` : "It does not fit." };
  }

  function answer(row: number, standing: SightAnswer["standing"], text: string): SightAnswer {
    return printable({ row, standing, text }, () => text);
  }

  function add(fields: SightingFields): SightAnswer {
    const before = sameSighting(book.night, fields);
    if (before) {
      return answer(
        before.row,
        "entered before",
        `Row ${before.row}: ${before.star} stands already, with this time and these readings.`,
      );
    }
    const sighting = book.append(fields);
    const { standing, text } = judged(sighting.row);
    const { readings } = book.mount;
    const read = `${formatReading(sighting.hourAngle, readings.hourAngle)}, ${formatReading(sighting.declination, readings.declination)}`;
    return answer(
      sighting.row,
      standing,
      `Row ${sighting.row}: ${sighting.star} at ${sighting.time} (${read}) is on the disk. ${text}`,
    );
  }

  const night: OpenNight = {
    get mount() {
      return book.mount;
    },
    get sightings() {
      return book.night.sightings;
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
      return `Row ${taken.row} (${taken.star}) is withdrawn; its line stays in the file.`;
    },
    enter(lines, ...values) {
      const text = typeof lines === "string" ? lines : String.raw({ raw: lines.raw }, ...values);
      return pastedFields(text, book.mount).map(add);
    },
    next({ at, ...plan } = {}) {
      const nowMs = momentMs(at ?? new Date());
      const used = book.night.sightings.filter((sighting) => sighting.use).length;
      const fit = used >= 4 ? fitMount(book.night) : null;
      const next = nextStar(book.night, fit?.sound ? fit : null, nowMs, plan);
      return next === null ? null : printable({ ...next }, () => nextStarReport(next));
    },
    reload() {
      book.reload();
    },
  };
  return printable(night, () => nightReport(night, book.warnings.map(faultText)));
}

function practiceCopy(folder: string): string {
  const copy = mkdtempSync(join(tmpdir(), "polewright-practice-"));
  for (const name of [MOUNT_FILE, NIGHT_FILE]) copyFileSync(join(folder, name), join(copy, name));
  return copy;
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

const DEFAULT_HEADER = "time,star,hourAngle,declination";

/** Checks a pasted table as a whole and gives its rows as fields. */
function pastedFields(text: string, mount: Mount): SightingFields[] {
  const lines = text
    .split("\n")
    .map((line) => line.trim())
    .filter((line) => line !== "");
  if (lines.length === 0) {
    throw new InputError([
      { code: "nothing-pasted", message: "The table is empty.", allowed: `lines of ${DEFAULT_HEADER}` },
    ]);
  }
  const withHeader = /(^|,)\s*time\s*(,|$)/i.test(lines[0]!) ? lines : [DEFAULT_HEADER, ...lines];
  const { night } = readNight(`${withHeader.join("\n")}\n`, mount, "pasted table");
  return night.sightings.map((sighting): SightingFields => {
    const target =
      sighting.catalogueStar === null
        ? { raDeg: sighting.position.raDeg, decDeg: sighting.position.decDeg }
        : { star: sighting.star };
    const optional: Partial<Record<keyof SightingFields, unknown>> = {
      pressureHPa: sighting.pressureHPa,
      temperatureC: sighting.temperatureC,
      zeroSet: sighting.zeroSet || null,
      tubeSet: sighting.tubeSet || null,
      group: sighting.group,
      side: sighting.side === "normal" ? null : sighting.side,
      hourAngleApproach: sighting.hourAngleApproach,
      declinationApproach: sighting.declinationApproach,
      centringArcmin: sighting.centringArcmin,
      use: sighting.use ? null : false,
      note: sighting.note || null,
    };
    const given = Object.fromEntries(Object.entries(optional).filter(([, value]) => value !== null));
    return {
      time: sighting.time,
      ...target,
      hourAngle: sighting.hourAngle,
      declination: sighting.declination,
      ...given,
    } as SightingFields;
  });
}

/** The night as it stands: what is in the folder. */
function nightReport(night: OpenNight, warnings: readonly string[]): Report {
  const { sightings, mount } = night;
  const used = sightings.filter((sighting) => sighting.use).length;
  const { readings } = mount;
  const last = sightings.slice(-5);
  return {
    title: mount.name,
    blocks: [
      {
        kind: "sentence",
        tone: "verdict",
        text:
          sightings.length === 0
            ? "No sightings yet."
            : `${sightings.length} sightings, ${used} in use, from ${sightings[0]!.time} to ${sightings.at(-1)!.time}.`,
      },
      {
        kind: "sentence",
        text: `Latitude ${mount.site.latitude}°, longitude ${mount.site.longitude}° (east positive), ${mount.site.heightM} m; kept in ${night.folder}.`,
      },
      ...(warnings.length > 0 ? [{ kind: "list" as const, ordered: false, items: warnings }] : []),
      ...(last.length > 0
        ? [
            {
              kind: "table" as const,
              caption: "The latest sightings",
              head: ["Row", "Star", "Time", "Hour angle", "Declination"],
              align: ["right", "left", "left", "right", "right"] as const,
              rows: last.map((sighting) => [
                String(sighting.row),
                sighting.star,
                sighting.time,
                formatReading(sighting.hourAngle, readings.hourAngle),
                formatReading(sighting.declination, readings.declination),
              ]),
            },
          ]
        : []),
    ],
  };
}
