/** Every key of the mount file, and every column of the tables, from the grammars that read them. */
import { turnedTable } from "../base/turned-file.js";
import { driftTable } from "../drift/fields.js";
import { trackTable } from "../drive/track-file.js";
import { firstMount } from "../mount/first-mount.js";
import { parseMount } from "../mount/mount-file.js";
import {
  allowedText,
  isNeeded,
  mountSchema,
  schemaKeys,
  schemaMember,
  schemaOf,
} from "../mount/mount-schema.js";
import { nightTable } from "../night/sighting-fields.js";
import type { Report, TableBlock } from "../report/report.js";
import type { Columns } from "../tables/column.js";
import { question } from "./answer.js";
import { place } from "./takes.js";

/** One key or column. */
interface Described {
  /** Its name; in the mount file with the way to it, `base.jacks[].eastMm`. */
  readonly name: string;
  readonly needed: boolean;
  readonly allowed: string;
  readonly meaning?: string;
  readonly unit?: string;
  readonly example?: string;
  /** What holds where it is left out. */
  readonly default?: string;
}

const tables = { night: nightTable, turned: turnedTable, drifts: driftTable, track: trackTable };
const kinds = ["mount", ...Object.keys(tables)] as const;

/** `polewright describe mount|night|turned|drifts|track`. */
export const describe = question({
  name: "describe",
  asks: "every key of mount.json, or every column of a table, with what it may hold",
  example: "polewright describe night",
  takes: { file: { ...place("file", "which file"), choices: kinds } },
  ask: ({ file }) => ({
    file,
    entries: file === "mount" ? mountKeys() : columnsOf(tables[file as keyof typeof tables]),
  }),
  say: ({ file, entries }) => [describeReport(file, entries)],
  json: ({ file, entries }) => ({ file, entries }),
});

function columnsOf(table: {
  readonly columns: Columns<never>;
  lacks(has: () => boolean): readonly string[];
}): Described[] {
  const lacking = table.lacks(() => false).join(" ");
  return Object.entries(table.columns).map(([name, { meaning, unit, allowed, example, carriesDown }]) => ({
    name,
    needed: new RegExp(`\\b${name}\\b`).test(lacking),
    meaning: carriesDown ? `${meaning} (applies to the rows below too)` : meaning,
    ...(unit === undefined ? {} : { unit }),
    allowed,
    example,
  }));
}

/** What stands in for what is left out, from a file that has only what it must. */
const least = parseMount({
  name: "least",
  site: { latitude: 0, longitude: 0 },
  readings: {
    hourAngle: { as: "counts", perTurn: 10_000 },
    declination: { as: "counts", perTurn: 10_000 },
  },
});

/** Defaults that follow from other keys. */
const following: Readonly<Record<string, string>> = { "site.pressureHPa": "from heightM" };

function mountKeys(): Described[] {
  const found: Described[] = [];
  const within = (value: unknown, key: string | number): unknown =>
    typeof value === "object" && value !== null ? (value as Record<string, unknown>)[key] : undefined;
  const walk = (
    schema: Parameters<typeof schemaOf>[0],
    name: string,
    value: unknown,
    shown: unknown,
  ): void => {
    for (const key of schemaKeys(schema) ?? []) {
      const member = schemaMember(schema, key);
      const path = name === "" ? key : `${name}.${key}`;
      const stands = within(value, key);
      const example = within(shown, key);
      const element = schemaOf(member, 0);
      const isObjects = element !== null && schemaKeys(element) !== null;
      const isLeaf = schemaKeys(member) === null && !isObjects;
      found.push({
        name: isObjects ? `${path}[]` : path,
        needed: isNeeded(member),
        allowed: allowedText(member),
        ...(isLeaf && !isNeeded(member) && ["number", "string", "boolean"].includes(typeof stands)
          ? { default: following[path] ?? String(stands) }
          : {}),
        ...(isLeaf && example !== undefined && key !== "note" ? { example: JSON.stringify(example) } : {}),
      });
      if (isObjects) walk(element, `${path}[]`, undefined, within(example, 0));
      else walk(member, path, stands, example);
    }
  };
  walk(mountSchema, "", least, firstMount);
  return found;
}

function describeReport(file: string, entries: readonly Described[]): Report {
  const isMount = file === "mount";
  const table: TableBlock = {
    kind: "table",
    caption: isMount
      ? "Keys; * must be there, where the part that it belongs to is. After “here” stands an invented example"
      : "Columns; * must be there",
    head: isMount
      ? ["Key", "What it may hold", "Left out"]
      : ["Column", "What it holds", "What may be written", "Example"],
    align: isMount ? ["left", "left", "left"] : ["left", "left", "left", "left"],
    rows: entries.map((one) => {
      const name = `${one.name}${one.needed ? " *" : ""}`;
      if (isMount)
        return [name, one.example ? `${one.allowed}; here ${one.example}` : one.allowed, one.default ?? ""];
      const unit = one.unit === undefined ? "" : `, ${one.unit}`;
      return [name, `${one.meaning}${unit}`, one.allowed, one.example ?? ""];
    }),
  };
  return { title: isMount ? "What mount.json may hold" : `The columns of the ${file} file`, blocks: [table] };
}
