import type { Timetable, TimetableEntry, TimetableSlot } from "../find/timetable.js";
import { count } from "../words/lists.js";
import { arcminText, fixed, signed, withinText } from "../words/numbers.js";
import { notShownBlocks, spreadsheetCell } from "./class-list-report.js";
import { type Clock, clockOf, inWholeMinutes } from "./clock.js";
import { guidanceBlocks } from "./guidance-blocks.js";
import { type Block, block, type Report } from "./report.js";

/**
 * The timetable of a class evening, to be printed and laid beside the telescope.
 *
 * @example
 * ```ts
 * reportHtml(timetableReport(timetable(fit, fromMs, untilMs, "showpieces", 10)))
 * ```
 */
export function timetableReport(table: Timetable): Report {
  const shown = table.slots.filter(({ entry }) => entry !== null).length;
  const free = table.slots.length - shown;
  const blocks: Block[] = [
    block.verdict(
      shown === 0
        ? "Nothing of what was asked for can be shown this evening."
        : `${count(shown, "object")}, ${fixed(table.minutesEach, Number.isInteger(table.minutesEach) ? 0 : 1)} minutes each${free === 0 ? "" : `; ${count(free, "slot")} free`}.`,
    ),
  ];
  for (const { target, why, unknown } of table.notShown) {
    if (unknown) blocks.push(block.caution(`${target}: ${why}.`));
  }
  blocks.push(...guidanceBlocks(table.notes));
  const times = table.slots.flatMap(({ from, middle }) => [from, middle]);
  const clock = clockOf(table.timeZone, table.from, inWholeMinutes(times));
  if (shown > 0) {
    blocks.push(
      block.sentence(
        `${clock.sentence} The readings are those of the middle of each slot (±: one standard uncertainty). For every minute later add what stands under “a minute”, for every minute earlier take it off.`,
      ),
      slotTable(table, clock),
      block.heading("What to look for"),
      block.list(table.slots.flatMap((slot) => lookForItem(slot, clock))),
    );
  }
  blocks.push(...notShownBlocks(table.notShown));
  return { title: `Timetable for an evening with ${table.mount}`, blocks };
}

function slotTable(table: Timetable, clock: Clock): Block {
  const entries = table.slots.flatMap(({ entry }) => entry ?? []);
  // What does not reach half a step within a slot is no use to anybody.
  const moves = (axis: "hourAngle" | "declination"): boolean =>
    entries.some(({ aMinute }) => Math.abs(aMinute[axis]) * table.minutesEach >= 1);
  const columns: readonly {
    readonly head: string;
    readonly align: "left" | "right";
    readonly cell: (entry: TimetableEntry, slot: TimetableSlot) => string;
  }[] = [
    {
      head: "Object",
      align: "left",
      cell: (entry) => (entry.side === "beyond" ? `${entry.target} (beyond)` : entry.target),
    },
    { head: "Middle", align: "left", cell: (_, { middle }) => clock.time(middle) },
    ...(clock.isLocal
      ? [
          {
            head: "UTC",
            align: "left" as const,
            cell: (_: TimetableEntry, { middle }: TimetableSlot) => clock.utc(middle),
          },
        ]
      : []),
    { head: "Hour angle", align: "right", cell: ({ predicted }) => predicted.hourAngleText },
    ...(moves("hourAngle")
      ? [
          {
            head: "a minute",
            align: "right" as const,
            cell: ({ aMinute }: TimetableEntry) => changeText(aMinute.hourAngle),
          },
        ]
      : []),
    { head: "Dec.", align: "right", cell: ({ predicted }) => predicted.declinationText },
    ...(moves("declination")
      ? [
          {
            head: "a minute",
            align: "right" as const,
            cell: ({ aMinute }: TimetableEntry) => changeText(aMinute.declination),
          },
        ]
      : []),
    { head: "±", align: "right", cell: ({ predicted }) => withinText(predicted.uncertaintyArcmin) },
    { head: "Alt.", align: "right", cell: ({ altitudeDeg }) => `${fixed(altitudeDeg, 0)}°` },
    { head: "Seen", align: "left", cell: () => "☐" },
  ];
  return {
    kind: "table",
    caption: `From ${clock.moment(table.from)} to ${clock.moment(table.until)}`,
    head: ["From", ...columns.map(({ head }) => head)],
    align: ["left", ...columns.map(({ align }) => align)],
    rows: table.slots.map((slot) => {
      const { from, entry } = slot;
      return entry === null
        ? [clock.time(from), "free", ...columns.slice(1).map(() => "")]
        : [clock.time(from), ...columns.map(({ cell }) => cell(entry, slot))];
    }),
  };
}

/** A change a minute with as many decimals as it needs. */
function changeText(change: number): string {
  return Math.abs(change) < 0.005 ? "0" : signed(change, Math.abs(change) < 1 ? 2 : 1);
}

function lookForItem({ from, entry }: TimetableSlot, clock: Clock): string[] {
  if (entry === null) return [];
  const magnitude = entry.vMag === null ? [] : [`magnitude ${fixed(entry.vMag, 1)}`];
  const about = [entry.description, `in ${entry.constellation}`, ...magnitude, ...sizeText(entry)]
    .filter((part) => part !== "")
    .join(", ");
  return [`${clock.time(from)} ${entry.target}${about === "" ? "" : ` (${about})`}. ${entry.lookFor}`];
}

/** How large it is, and how much of the field it fills. */
function sizeText({ sizeArcmin, partOfField }: TimetableEntry): string[] {
  if (sizeArcmin === null) return [];
  const [long, short] = sizeArcmin.map((size) =>
    size < 2 ? `${fixed(60 * size, 0)}″` : arcminText(size, 0),
  );
  const size = long === short ? long! : `${long} × ${short}`;
  if (partOfField === null) return [size];
  if (partOfField >= 1) return [`${size}, larger than the field`];
  const percent = 100 * partOfField;
  return [`${size}, ${percent < 1 ? "less than 1" : percent.toFixed(0)} % of the field's width`];
}

/** The timetable as CSV (RFC 4180: header, commas, CRLF); times in UTC. */
export function timetableCsv(table: Timetable): string {
  const head = [
    "from",
    "middle",
    "until",
    "object",
    "what",
    "constellation",
    "magnitude",
    "altitudeDeg",
    "side",
    "hourAngle",
    "hourAngleAMinute",
    "declination",
    "declinationAMinute",
    "uncertaintyArcmin",
    "lookFor",
  ];
  const rows = table.slots.map(({ from, middle, until, entry }) =>
    entry === null
      ? [from, middle, until]
      : [
          from,
          middle,
          until,
          entry.target,
          entry.description,
          entry.constellation,
          entry.vMag === null ? "" : entry.vMag.toFixed(1),
          entry.altitudeDeg.toFixed(1),
          entry.side,
          entry.predicted.hourAngleText,
          entry.aMinute.hourAngle.toFixed(3),
          entry.predicted.declinationText,
          entry.aMinute.declination.toFixed(3),
          entry.predicted.uncertaintyArcmin === null ? "" : entry.predicted.uncertaintyArcmin.toFixed(2),
          entry.lookFor,
        ],
  );
  return [head, ...rows]
    .map((row) => `${head.map((_, column) => spreadsheetCell(row[column] ?? "")).join(",")}\r\n`)
    .join("");
}
