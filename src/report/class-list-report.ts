import type { ClassList } from "../find/class-list.js";
import { count } from "../words/lists.js";
import { fixed, withinText } from "../words/numbers.js";
import { clockOf, inWholeMinutes } from "./clock.js";
import { columnTable } from "./columns.js";
import { guidanceBlocks } from "./guidance-blocks.js";
import { type Block, block, type Report } from "./report.js";

/**
 * The list for a class evening, to be printed and laid beside the telescope.
 *
 * @example
 * ```ts
 * reportHtml(classListReport(classList(fit, fromMs, toMs, "messier")))
 * ```
 */
export function classListReport(list: ClassList): Report {
  const blocks: Block[] = [
    block.verdict(
      list.entries.length === 0
        ? "Nothing of what was asked for can be shown this evening."
        : `${count(list.entries.length, "object")} can be shown, each in its turn when it is best placed.`,
    ),
  ];
  for (const { target, why, unknown } of list.notShown) {
    if (unknown) blocks.push(block.caution(`${target}: ${why}.`));
  }
  blocks.push(...guidanceBlocks(list.notes));
  if (list.entries.length > 0) {
    const times = list.entries.flatMap(({ best, until }) => [best, until]);
    const clock = clockOf(list.timeZone, list.from, inWholeMinutes(times));
    blocks.push(
      block.sentence(
        `${clock.sentence} The readings of hour angle and declination hold at the time in the first column, within one standard uncertainty (±).`,
      ),
    );
    blocks.push(
      columnTable(
        `From ${clock.moment(list.from)} to ${clock.moment(list.until)}`,
        [
          { head: "Best at", align: "left", cell: ({ best }) => clock.time(best) },
          clock.isLocal ? { head: "UTC", align: "left", cell: ({ best }) => clock.utc(best) } : null,
          {
            head: "Object",
            align: "left",
            cell: ({ target, side }) => (side === "beyond" ? `${target} (beyond)` : target),
          },
          { head: "What", align: "left", cell: ({ description }) => description },
          { head: "Mag.", align: "right", cell: ({ vMag }) => (vMag === null ? "" : fixed(vMag, 1)) },
          { head: "Alt.", align: "right", cell: ({ altitudeDeg }) => `${fixed(altitudeDeg, 0)}°` },
          { head: "Az.", align: "right", cell: ({ azimuthDeg }) => `${fixed(azimuthDeg, 0)}°` },
          { head: "Hour angle", align: "right", cell: ({ predicted }) => predicted.hourAngleText },
          { head: "Dec.", align: "right", cell: ({ predicted }) => predicted.declinationText },
          { head: "±", align: "right", cell: ({ predicted }) => withinText(predicted.uncertaintyArcmin) },
          { head: "Until", align: "left", cell: ({ until }) => clock.time(until) },
          { head: "Seen", align: "left", cell: () => "☐" },
        ],
        list.entries,
      ),
    );
    if (list.hourAngleAMinute !== 0) {
      blocks.push(
        block.sentence(
          `For another time add ${fixed(list.hourAngleAMinute, 2)} to the hour-angle reading for every minute later (the Moon and planets a little less or more).`,
        ),
      );
    }
  }
  blocks.push(...notShownBlocks(list.notShown));
  return { title: `Class evening with ${list.mount}`, blocks };
}

/** More names than this for one reason are only counted: nobody asked for each of them. */
const MOST_NAMED = 12;
/** A reason with the target's own figure in it: `altitude 8.6° is below the limit of 15°`. */
const WITH_FIGURE = /^(altitude|hour angle|declination) (\S+(?:°| h)) is /;

/** What cannot be shown, those with the same reason in one line. */
export function notShownBlocks(notShown: ClassList["notShown"]): Block[] {
  const groups = new Map<string, string[]>();
  for (const { target, why, unknown } of notShown) {
    if (unknown) continue;
    const [whole = "", what, figure] = WITH_FIGURE.exec(why) ?? [];
    const reason = `${what === undefined ? "" : `${what} `}${why.slice(whole.length)}`;
    groups.set(reason, [
      ...(groups.get(reason) ?? []),
      figure === undefined ? target : `${target} at ${figure}`,
    ]);
  }
  if (groups.size === 0) return [];
  const items = [...groups].map(([reason, targets]) => {
    const more = targets.length - MOST_NAMED;
    const named =
      more > 1 ? `${targets.slice(0, MOST_NAMED).join(", ")} and ${more} more` : targets.join(", ");
    return `${reason.charAt(0).toUpperCase()}${reason.slice(1)}: ${named}`;
  });
  return [block.heading("Not this evening"), block.list(items)];
}

/**
 * A cell for a CSV file that a spreadsheet opens: quoted where it must be (RFC 4180), and what a spreadsheet would take
 * for a formula (a beginning with = + - @, a tab or a carriage return) made harmless by an apostrophe. A plain number
 * stays a number.
 *
 * @example
 * ```ts
 * spreadsheetCell("=1+1") // "'=1+1"
 * spreadsheetCell("-1591") // "-1591"
 * ```
 */
export function spreadsheetCell(text: string): string {
  const number = /^-?\d+(\.\d+)?$/.test(text);
  const harmless = !number && /^[\s]*[=+\-@\t\r−＝＋－＠]/u.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(harmless) ? `"${harmless.replace(/"/g, '""')}"` : harmless;
}

/**
 * The list for a class evening as CSV (RFC 4180: header, commas, CRLF).
 */
export function classListCsv(list: ClassList): string {
  const head = [
    "bestTime",
    "object",
    "what",
    "magnitude",
    "altitudeDeg",
    "azimuthDeg",
    "side",
    "hourAngle",
    "declination",
    "uncertaintyArcmin",
    "from",
    "until",
  ];
  const rows = list.entries.map((entry) => [
    entry.best,
    entry.target,
    entry.description,
    entry.vMag === null ? "" : entry.vMag.toFixed(1),
    entry.altitudeDeg.toFixed(1),
    entry.azimuthDeg.toFixed(1),
    entry.side,
    entry.predicted.hourAngleText,
    entry.predicted.declinationText,
    entry.predicted.uncertaintyArcmin === null ? "" : entry.predicted.uncertaintyArcmin.toFixed(2),
    entry.from,
    entry.until,
  ]);
  return [head, ...rows].map((row) => `${row.map(spreadsheetCell).join(",")}\r\n`).join("");
}
