/**
 * Notebook files: read with every fault at once, brought to nbformat 4.5, and written as Jupyter writes them.
 *
 * Source: "The Notebook file format" (nbformat 4.5) and its JSON schema; the form of the text is that of the nbformat
 * package: keys sorted, one space of indent, lists of lines, a newline at the end.
 */
import * as v from "valibot";
import { type Fault, InputError, shown } from "../errors.js";
import { FaultList } from "../fault-list.js";
import { joinPath, jsonPlaces } from "../mount/json-places.js";

/** Data in several forms, by MIME type: text for most, JSON for JSON types. */
export type MimeData = Readonly<Record<string, unknown>>;
/** What tools note beside the content; kept as it is. */
type Metadata = Readonly<Record<string, unknown>>;

/** What a code cell brought forth. */
export type Output =
  | { readonly output_type: "stream"; readonly name: string; readonly text: string }
  | { readonly output_type: "display_data"; readonly data: MimeData; readonly metadata: Metadata }
  | {
      readonly output_type: "execute_result";
      readonly data: MimeData;
      readonly metadata: Metadata;
      readonly execution_count: number | null;
    }
  | {
      readonly output_type: "error";
      readonly ename: string;
      readonly evalue: string;
      readonly traceback: readonly string[];
    };

/** A cell of prose, or one that is passed through. */
export interface TextCell {
  readonly cell_type: "markdown" | "raw";
  readonly id: string;
  readonly metadata: Metadata;
  readonly source: string;
  /** Pictures and the like that the prose refers to, by name. */
  readonly attachments?: Readonly<Record<string, MimeData>>;
}

/** A cell of code with what it brought forth. */
export interface CodeCell {
  readonly cell_type: "code";
  readonly id: string;
  readonly metadata: Metadata;
  readonly source: string;
  readonly execution_count: number | null;
  readonly outputs: readonly Output[];
}

export type Cell = TextCell | CodeCell;

/** A notebook, of whatever 4.x it was read from. */
export interface Notebook {
  readonly nbformat: 4;
  readonly nbformat_minor: 5;
  readonly metadata: Metadata;
  readonly cells: readonly Cell[];
}

const NEWEST_MINOR = 5;
/** Thousands of pages; more is not a notebook that this program should hold in memory. */
const LARGEST_NOTEBOOK = 400_000_000;
/** Jupyter cannot read more: Python's own reader of JSON gives up at its limit of recursion, 1000. */
const DEEPEST_NESTING = 900;

// Messages say what is allowed; what is wrong and where is added from valibot's issue.
const text = v.pipe(
  v.union([v.string(), v.array(v.string())], "text, or a list of lines of text"),
  v.transform((lines) => (typeof lines === "string" ? lines : lines.join(""))),
);
const metadata = v.record(v.string(), v.unknown(), "an object");
const count = v.nullable(v.pipe(v.number("a whole number from 0 on, or null"), v.integer(), v.minValue(0)));
const mimeData = v.pipe(
  v.record(v.string(), v.unknown(), "an object with MIME types for keys"),
  v.transform((bundle) =>
    Object.fromEntries(Object.entries(bundle).map(([mime, value]) => [mime, joined(mime, value)])),
  ),
);
const output = v.variant(
  "output_type",
  [
    v.strictObject({ output_type: v.literal("stream"), name: v.string("stdout or stderr"), text }),
    v.strictObject({ output_type: v.literal("display_data"), data: mimeData, metadata }),
    v.strictObject({
      output_type: v.literal("execute_result"),
      data: mimeData,
      metadata,
      execution_count: count,
    }),
    v.strictObject({
      output_type: v.literal("error"),
      ename: v.string("text"),
      evalue: v.string("text"),
      traceback: v.array(v.string("text"), "a list of texts"),
    }),
  ],
  '"stream", "display_data", "execute_result" or "error"',
);
const ID_RULE = "1 to 64 letters, digits, hyphens and underscores";
const id = v.optional(v.pipe(v.string(ID_RULE), v.regex(/^[A-Za-z0-9_-]{1,64}$/, ID_RULE)));
const attachments = v.optional(v.record(v.string(), mimeData, "an object"));
const cell = v.variant(
  "cell_type",
  [
    v.strictObject({ cell_type: v.literal("markdown"), id, metadata, source: text, attachments }),
    v.strictObject({ cell_type: v.literal("raw"), id, metadata, source: text, attachments }),
    v.strictObject({
      cell_type: v.literal("code"),
      id,
      metadata,
      source: text,
      execution_count: count,
      outputs: v.array(output, "a list of outputs"),
    }),
  ],
  '"markdown", "raw" or "code"',
);
const notebook = v.strictObject({
  nbformat: v.literal(4, "4"),
  nbformat_minor: v.pipe(v.number("a whole number from 0 on"), v.integer(), v.minValue(0)),
  metadata,
  cells: v.array(cell, "a list of cells"),
});

/**
 * Reads a notebook of nbformat 4.0 to 4.5; cells without an id are given one.
 *
 * @param fileText - the file's text
 * @param file - the file's name, for messages
 * @throws InputError `not-json`, `notebook-depth`, `notebook-version` or `notebook-form`, all faults at once, each with its path and line
 * @example
 * ```ts
 * parseNotebook('{"cells":[],"metadata":{},"nbformat":4,"nbformat_minor":2}').nbformat_minor // 5
 * ```
 */
export function parseNotebook(fileText: string, file?: string): Notebook {
  const named = file === undefined ? {} : { file };
  const plain = fileText.replace(/^\uFEFF/, "");
  const json = parsedJson(plain, named);
  if (isTooDeep(json)) {
    const allowed = `at most ${DEEPEST_NESTING} levels; more Jupyter cannot read either`;
    const message = "Lists and objects are nested too deeply.";
    throw new InputError({ code: "notebook-depth", ...named, allowed, message });
  }
  const version = Object(json) as { nbformat?: unknown; nbformat_minor?: unknown };
  const older = typeof version.nbformat === "number" && version.nbformat !== 4;
  const newer = version.nbformat === 4 && (version.nbformat_minor as number) > NEWEST_MINOR;
  if (older || newer) {
    throw new InputError({
      code: "notebook-version",
      ...named,
      path: older ? "nbformat" : "nbformat_minor",
      found: `${version.nbformat}.${version.nbformat_minor ?? "?"}`,
      allowed: "4.0 to 4.5; Jupyter can save it so, or: jupyter nbconvert --to notebook --nbformat 4 FILE",
      message: "The notebook is in another version of the format.",
    });
  }
  const read = v.safeParse(notebook, json);
  const ids = repeatedIds(json);
  if (!read.success || ids.length > 0) {
    const { lines } = jsonPlaces(plain);
    const faults = new FaultList();
    for (const fault of [...(read.issues ?? []).map(formFault), ...ids]) {
      const line = lines.get(fault.path ?? "");
      faults.add({ ...named, ...fault, ...(line === undefined ? {} : { line }) });
    }
    faults.throwIfAny(file);
  }
  const { cells, ...rest } = read.output as v.InferOutput<typeof notebook>;
  return { ...rest, nbformat: 4, nbformat_minor: NEWEST_MINOR, cells: withIds(cells) };
}

function parsedJson(plain: string, named: { file?: string }): unknown {
  const allowed = "a Jupyter notebook, a JSON file of nbformat 4";
  if (plain.length > LARGEST_NOTEBOOK) {
    throw new InputError({
      code: "file-too-large",
      ...named,
      allowed,
      message: "This is too large for a notebook.",
    });
  }
  try {
    return JSON.parse(plain);
  } catch {
    const slip = jsonPlaces(plain).slip;
    const place = slip === null ? {} : { line: slip.place.line, found: shown(slip.found) };
    const message = `This is not JSON.${slip === null ? "" : ` ${slip.message}`}`;
    throw new InputError({ code: "not-json", ...named, ...place, allowed, message });
  }
}

/** Whether lists and objects are nested more deeply than a notebook's file may have them. */
export function isTooDeep(json: unknown): boolean {
  let level: unknown[] = [json];
  for (let depth = 0; level.length > 0; depth += 1) {
    if (depth > DEEPEST_NESTING) return true;
    level = level.flatMap((value) =>
      typeof value === "object" && value !== null
        ? Object.values(value).filter((inner) => typeof inner === "object" && inner !== null)
        : [],
    );
  }
  return false;
}

type Issue = v.BaseIssue<unknown>;

function formFault(issue: Issue): Fault {
  const path = (issue.path ?? []).reduce((parent, { key }) => joinPath(parent, key as string | number), "");
  const code = "notebook-form";
  if (issue.type === "strict_object" && issue.expected === "never") {
    return {
      code,
      path,
      allowed: "only what nbformat 4.5 knows at this place",
      message: "This key is not known here.",
    };
  }
  if (issue.input === undefined) {
    return { code, path, allowed: allowedBy(issue), message: "This is missing." };
  }
  return {
    code,
    path,
    found: shown(issue.input),
    allowed: allowedBy(issue),
    message: "This is not as it should be.",
  };
}

function allowedBy({ message, expected }: Issue): string {
  // valibot's own wording begins so; ours does not.
  return /^Invalid /.test(message) ? (expected ?? "what nbformat 4.5 says") : message;
}

function repeatedIds(json: unknown): Fault[] {
  const cells: unknown = Object(json).cells;
  if (!Array.isArray(cells)) return [];
  const seen = new Set<unknown>();
  return cells.flatMap((one, index) => {
    const found: unknown = Object(one).id;
    const again = typeof found === "string" && seen.has(found);
    seen.add(found);
    if (!again) return [];
    return [
      {
        code: "notebook-form",
        path: `cells[${index}].id`,
        found: shown(found),
        allowed: "another id for each cell",
        message: "An earlier cell has this id already.",
      },
    ];
  });
}

type ReadCell = v.InferOutput<typeof cell>;

function withIds(cells: readonly ReadCell[]): Cell[] {
  const used = new Set(cells.map((one) => one.id));
  return cells.map((one, index) => {
    let own = one.id ?? `cell-${index + 1}`;
    // Counted on, not drawn by lot: the same notebook gets the same ids every time.
    while (one.id === undefined && used.has(own)) own += "-";
    used.add(own);
    const { id: _, ...rest } = one;
    if ("attachments" in rest && rest.attachments === undefined) delete rest.attachments;
    return { ...rest, id: own } as Cell;
  });
}

/**
 * The text of a notebook's file, as Jupyter writes it: the same notebook always gives the same text.
 *
 * @param content - the notebook
 */
export function notebookText(content: Notebook): string {
  const onDisk = {
    ...content,
    cells: content.cells.map((one) => ({
      ...one,
      source: lines(one.source),
      ...("outputs" in one ? { outputs: one.outputs.map(outputOnDisk) } : {}),
      ...("attachments" in one ? { attachments: mapped(one.attachments ?? {}, splitData) } : {}),
    })),
  };
  return `${JSON.stringify(sorted(onDisk), null, 1)}\n`;
}

function outputOnDisk(one: Output): object {
  if (one.output_type === "stream") return { ...one, text: lines(one.text) };
  return "data" in one ? { ...one, data: splitData(one.data) } : one;
}

function lines(whole: string): string[] {
  return whole === "" ? [] : whole.split(/(?<=\n)/);
}

function isJsonMime(mime: string): boolean {
  return mime === "application/json" || (mime.startsWith("application/") && mime.endsWith("+json"));
}

function joined(mime: string, value: unknown): unknown {
  const isLines =
    !isJsonMime(mime) && Array.isArray(value) && value.every((line) => typeof line === "string");
  return isLines ? value.join("") : value;
}

/** The nbformat package parts text, scripts and SVG into lines, and leaves base64 whole. */
function splitData(data: MimeData): MimeData {
  const parted = ([mime, value]: [string, unknown]) =>
    typeof value === "string" && (mime.startsWith("text/") || PARTED_MIMES.has(mime)) ? lines(value) : value;
  return Object.fromEntries(Object.entries(data).map(([mime, value]) => [mime, parted([mime, value])]));
}

const PARTED_MIMES = new Set(["application/javascript", "image/svg+xml"]);

function mapped<From, To>(
  from: Readonly<Record<string, From>>,
  change: (value: From) => To,
): Record<string, To> {
  return Object.fromEntries(Object.entries(from).map(([key, value]) => [key, change(value)]));
}

function sorted(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(sorted);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .sort(([one], [other]) => (one < other ? -1 : 1))
      .map(([key, inner]) => [key, sorted(inner)]),
  );
}

/** The outputs with one more; text that goes on in the same stream joins what is there. */
export function withOutput(outputs: readonly Output[], next: Output): readonly Output[] {
  const last = outputs.at(-1);
  if (last?.output_type === "stream" && next.output_type === "stream" && last.name === next.name) {
    return [...outputs.slice(0, -1), { ...last, text: last.text + next.text }];
  }
  return [...outputs, next];
}

/** Whether a cell is one of code. */
export function isCode(one: Cell): one is CodeCell {
  return one.cell_type === "code";
}
