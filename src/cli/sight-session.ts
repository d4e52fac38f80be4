/**
 * An evening's entry at the telescope, without its terminal: what is being entered, what is said of it, what comes next.
 */
import { faultTexts, InputError } from "../errors.js";
import type { NightFolder } from "../files/night-folder.js";
import { evidenceOf } from "../fit/evidence.js";
import type { MountFit } from "../fit/fit-result.js";
import { fitMount } from "../fit/mount-fit.js";
import { formatReading } from "../mount/readings.js";
import type { SightingFields } from "../night/sighting-fields.js";
import { makeSighting } from "../night/sighting-fields.js";
import { type NextStar, nextStar } from "../plan/next.js";
import { judgeSighting, skyDoubts } from "../sight/judge.js";
import { readPasted } from "../sight/pasted.js";
import { catalogueStars } from "../sky/catalogue.js";
import { suggestStars, tryFindStar } from "../sky/find-star.js";
import { nameKey } from "../sky/name-key.js";
import { formatTime } from "../sky/time.js";
import { eastOrWest, highOrLow } from "../words/directions.js";
import { count } from "../words/lists.js";
import { fixed } from "../words/numbers.js";

/** With fewer sightings a fit has nothing to say of the axis. */
const FITTED_FROM = 3;

/** What holds for the sightings to come. */
interface Standing {
  side?: "normal" | "beyond";
  hourAngleApproach?: "+" | "-";
  declinationApproach?: "+" | "-";
}

/** What is given with the next sighting alone. */
interface Once {
  zeroSet?: string;
  tubeSet?: string;
  note?: string;
}

/** The words that stand where a star's name may. */
export const commands: Readonly<Record<string, string>> = {
  undo: "take the latest sighting back",
  note: "for the next sighting: note thin cloud",
  approach: "how both axes came: approach + - or approach off",
  side: "side beyond (tube over the pole) or side normal",
  zeros: "the zeros were set again: zeros second",
  tube: "the tube was turned in its rings: tube second",
  paste: "enter a table, from a spreadsheet for instance",
  list: "the latest sightings",
  next: "which star to sight next",
  quit: "end; all sightings are on the disk",
};

export class SightSession {
  readonly #book: NightFolder;
  readonly #now: () => number;
  readonly #standing: Standing = {};
  #once: Once = {};

  constructor(book: NightFolder, now: () => number) {
    this.#book = book;
    this.#now = now;
  }

  get readingsWanted(): string {
    const { hourAngle, declination } = this.#book.mount.readings;
    return `hour angle (${hourAngle.as}), declination (${declination.as})`;
  }

  /** What was read, and what the reader warned of. */
  opening(): string[] {
    const { mount, night, nightPath } = this.#book;
    const used = night.sightings.filter(({ use }) => use).length;
    return [
      `${mount.name}: ${count(night.sightings.length, "sighting")}, ${used} in use, in ${nightPath}.`,
      ...faultTexts(this.#book.warnings),
    ];
  }

  /** Stars and commands that a word may mean; the best first. */
  completions(word: string, suggested: string | null): { readonly value: string; readonly says: string }[] {
    const key = nameKey(word);
    const first = word.trim().split(/\s+/)[0]?.toLowerCase() ?? "";
    const all = Object.entries(commands).map(([value, says]) => ({ value, says }));
    if (key === "") {
      const next = suggested === null ? [] : [{ value: suggested, says: "the next star" }];
      return [...next, ...all];
    }
    const exact = tryFindStar(word);
    const begins = catalogueStars().filter(({ label }) => nameKey(label).startsWith(key));
    const stars = [...(exact === undefined ? [] : [exact]), ...begins];
    const meant = stars.length > 0 ? stars : suggestStars(word, 3);
    const says = stars.length > 0 ? "" : "did you mean this star?";
    const listed = [...new Map(meant.map((star) => [star.label, star])).values()].slice(0, 8).map((star) => ({
      value: star.label,
      says: [says, `magnitude ${fixed(star.vMag, 1)}`, star.bayer].filter(Boolean).join(", "),
    }));
    const known = all
      .filter(({ value }) => (first === value ? true : value.startsWith(first) && !word.includes(" ")))
      .map(({ value, says }) => ({ value: first === value ? word.trim() : value, says }));
    return first !== "" && Object.hasOwn(commands, first) ? [...known, ...listed] : [...listed, ...known];
  }

  /** What must be known before the star is centred: whether it may be sighted at all. */
  before(star: string): string[] {
    const time = formatTime(this.#now());
    const placeholder = { time, star, group: "none" };
    return skyDoubts(makeSighting(placeholder, this.#book.mount, 1), this.#book);
  }

  /**
   * Enters a sighting.
   *
   * @returns what is said of it; on the disk before this returns
   * @throws InputError for readings that cannot be (nothing is written), JournalError with the line
   */
  enter(star: string, timeMs: number, hourAngle: string | null, declination: string | null): string[] {
    const fields: SightingFields = {
      time: formatTime(timeMs),
      star,
      hourAngle,
      declination,
      ...this.#standing,
      ...this.#once,
    };
    const sighting = this.#book.append(fields);
    this.#once = {};
    const { readings } = this.#book.mount;
    const read = `${formatReading(sighting.hourAngle, readings.hourAngle)}, ${formatReading(sighting.declination, readings.declination)}`;
    const judgement = judgeSighting(this.#book.night, sighting);
    const fit = judgement.fit ?? this.#fit();
    return [
      `Row ${sighting.row}: ${sighting.star} at ${sighting.time} (${read}) is on the disk.`,
      judgement.doubtful ? `DOUBTFUL: ${judgement.text}` : judgement.text,
      ...axisWords(fit),
      ...this.news(),
    ];
  }

  /** Enters a pasted table whole. */
  enterPasted(text: string): string[] {
    const { fields } = readPasted(text, this.#book.mount);
    this.#book.check(fields);
    const rows = this.#book.appendAll(fields);
    return [`${count(rows.length, "sighting")} on the disk.`, ...axisWords(this.#fit()), ...this.news()];
  }

  preview(text: string): readonly string[] {
    return readPasted(text, this.#book.mount).preview;
  }

  /** Does what a command says; null for `paste` and `quit`, which are the terminal's. */
  command(line: string): string[] {
    const [name = "", ...rest] = line.trim().split(/\s+/);
    const word = rest.join(" ");
    switch (name) {
      case "undo": {
        const taken = this.#book.withdraw();
        return [`Row ${taken.row} (${taken.star}) is withdrawn; its line stays in the file.`, ...this.news()];
      }
      case "note":
        this.#once.note = word;
        return [word === "" ? "No note." : `The next sighting's note: ${word}`];
      case "zeros":
        if (word === "") return ["Give the new zero set a name: zeros second"];
        this.#once.zeroSet = word;
        return [`From the next sighting on the zeros are those of "${word}".`];
      case "tube":
        if (word === "") return ["Give the tube's new position a name: tube second"];
        this.#once.tubeSet = word;
        return [`From the next sighting on the tube lies as "${word}".`];
      case "side":
        if (word !== "normal" && word !== "beyond") return ["Say side normal or side beyond."];
        this.#standing.side = word;
        return [`The tube is on the ${word === "beyond" ? "far side, beyond the pole" : "normal side"}.`];
      case "approach":
        return this.#approach(rest);
      case "list":
        return this.#book.night.sightings.slice(-5).map(({ row, star, time, use, withdrawn }) => {
          return `Row ${row}: ${star} at ${time}${use ? "" : withdrawn ? ", withdrawn" : ", not used"}`;
        });
      case "next":
        return this.nextWords(this.next());
      default:
        return [`There is no command "${name}". Commands: ${Object.keys(commands).join(", ")}.`];
    }
  }

  #approach([hourAngle = "", declination = ""]: readonly string[]): string[] {
    delete this.#standing.hourAngleApproach;
    delete this.#standing.declinationApproach;
    const isSign = (sign: string): sign is "+" | "-" => sign === "+" || sign === "-";
    if (isSign(hourAngle)) this.#standing.hourAngleApproach = hourAngle;
    if (isSign(declination)) this.#standing.declinationApproach = declination;
    if (hourAngle === "off") return ["How the axes came is left open."];
    return isSign(hourAngle) || isSign(declination)
      ? [`The axes came from: hour angle ${hourAngle || "open"}, declination ${declination || "open"}.`]
      : ["Say approach + - : hour angle, then declination; + while the angle grew."];
  }

  /** What others did to the file meanwhile. */
  news(): string[] {
    return this.#book.news().map(({ message }) => `NOTE: ${message}`);
  }

  /** The end: the file is held once more against all that was entered. */
  closing(): string[] {
    const { nightPath } = this.#book;
    return this.#book.isWhole()
      ? [...this.news(), `All that was entered is in ${nightPath}.`]
      : [...this.news(), `NOT all that was entered stands in ${nightPath} as a night: see the notes above.`];
  }

  /** The star to sight next; an error's words where none may be sighted, for instance by day. */
  next(): NextStar | string | null {
    try {
      const fit = this.#fit();
      return nextStar(this.#book.night, fit?.sound ? fit : null, this.#now());
    } catch (problem) {
      if (problem instanceof InputError) return problem.message;
      throw problem;
    }
  }

  nextWords(next: NextStar | string | null): string[] {
    if (next === null) return ["No star may be sighted now."];
    if (typeof next === "string") return [next];
    const { predicted, slewDeg } = next;
    const within = predicted.uncertaintyArcmin;
    const way = slewDeg === null ? "" : `, ${fixed(slewDeg, 0)}° from here`;
    return [
      `Next: ${next.star} (magnitude ${fixed(next.vMag, 1)}), altitude ${fixed(next.altitudeDeg, 0)}°, azimuth ${fixed(next.azimuthDeg, 0)}°${way}.`,
      within === null
        ? "Its readings are known once the zeros are."
        : `The axes should read ${predicted.hourAngleText} and ${predicted.declinationText}, within ${fixed(within, 0)}′${next.side === "beyond" ? ", with the tube turned over the pole" : ""}.`,
      ...(next.enough ? ["ENOUGH: more stars would not change the turns. Call polewright turns."] : []),
    ];
  }

  #fit(): MountFit | null {
    const { night } = this.#book;
    if (night.sightings.filter(({ use }) => use).length < FITTED_FROM) return null;
    try {
      return fitMount(night);
    } catch {
      // The sightings are on the disk; what the fit met is told by `polewright fit`.
      return null;
    }
  }
}

/** Where the axis points now, as far as the night allows one to say. */
function axisWords(fit: MountFit | null): string[] {
  if (fit === null) return [];
  const { allows, missing } = evidenceOf(fit);
  if (allows === "nothing") {
    return [`The night does not fit together yet: ${fit.notes[0]?.message ?? "see polewright fit"}`];
  }
  const { altitude, east } = fit.pole;
  const words = `${fixed(Math.abs(altitude.value), 1)}′ ± ${fixed(altitude.uncertainty, 1)}′ ${highOrLow(altitude.value)}, ${fixed(Math.abs(east.value), 1)}′ ± ${fixed(east.uncertainty, 1)}′ ${eastOrWest(east.value)}`;
  return [
    `The axis points ${words}.`,
    ...(missing > 0
      ? [
          `Not known well enough for turns: ${count(missing, "more sighting")} needed. A misidentified star could not be seen yet.`,
        ]
      : []),
  ];
}

/** Readings as typed: two of them, one of them with a dash for the other, or a shift of the time such as -5s. */
export function readTyped(
  text: string,
):
  | { readonly shiftS: number }
  | { readonly hourAngle: string | null; readonly declination: string | null }
  | null {
  const shift = /^([+-]\d+(?:[.,]\d+)?)\s*s$/i.exec(text.trim());
  if (shift !== null) return { shiftS: Number(shift[1]!.replace(",", ".")) };
  const parts = text
    .trim()
    .split(/\s*[,;\t]\s*|\s+/)
    .filter(Boolean);
  if (parts.length !== 2) return null;
  const [hourAngle, declination] = parts.map((part) => (/^[-–—]$/.test(part) ? null : part));
  if (hourAngle === null && declination === null) return null;
  return { hourAngle: hourAngle!, declination: declination! };
}
