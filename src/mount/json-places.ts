/**
 * Where things stand in a JSON text: the first slip of the pen, keys given twice, and the line of every value.
 *
 * `JSON.parse` does the reading; this scanner exists because it neither says the line of an error nor notices a
 * key given twice, and because a builder edits the mount file by hand (RFC 8259 is the grammar).
 */

/** A place in a text, both counted from 1. */
interface TextPlace {
  readonly line: number;
  readonly character: number;
}

/** What the scanner found. */
export interface JsonPlaces {
  /** The first error of grammar, or null. */
  readonly slip: { readonly place: TextPlace; readonly found: string; readonly message: string } | null;
  /** Keys given twice in one object, with their paths. */
  readonly repeated: readonly { readonly path: string; readonly place: TextPlace }[];
  /** The line of every value, by its path; the whole file is the empty path. */
  readonly lines: ReadonlyMap<string, number>;
}

/** The path of a member or an element, for instance `base.jacks[2].eastMm`. */
export function joinPath(parent: string, key: string | number): string {
  if (typeof key === "number") return `${parent}[${key}]`;
  const name = /^[\p{L}_$][\p{L}\p{N}_$]*$/u.test(key) ? key : JSON.stringify(key.slice(0, 60));
  return parent === "" ? name : `${parent}.${name}`;
}

const DEEPEST = 40;

class Slip extends Error {
  constructor(
    readonly offset: number,
    message: string,
  ) {
    super(message);
  }
}

/**
 * Scans a JSON text.
 *
 * @param text - the text without byte-order mark
 * @returns its places; never throws
 * @example
 * ```ts
 * jsonPlaces('{ "a": 1,\n "a": 2 }').repeated // [{ path: "a", place: { line: 2, character: 2 } }]
 * ```
 */
export function jsonPlaces(text: string): JsonPlaces {
  const lineStarts = [0];
  for (let at = text.indexOf("\n"); at >= 0; at = text.indexOf("\n", at + 1)) lineStarts.push(at + 1);
  const placeOf = (offset: number): TextPlace => {
    let low = 0;
    let high = lineStarts.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (lineStarts[middle]! <= offset) low = middle;
      else high = middle - 1;
    }
    return { line: low + 1, character: offset - lineStarts[low]! + 1 };
  };

  const lines = new Map<string, number>();
  const repeated: { path: string; place: TextPlace }[] = [];
  let at = 0;

  const skipSpace = (): void => {
    while (at < text.length && " \t\r\n".includes(text[at]!)) at += 1;
    if (text[at] === "/" && (text[at + 1] === "/" || text[at + 1] === "*")) {
      throw new Slip(at, "JSON has no comments; take this one out.");
    }
  };

  const string = (): string => {
    const start = at;
    at += 1;
    while (at < text.length) {
      const character = text[at]!;
      if (character === '"') {
        at += 1;
        return JSON.parse(text.slice(start, at)) as string;
      }
      if (character === "\n" || character === "\r") break;
      if (character < " ") throw new Slip(at, "A control character stands inside a text.");
      if (character === "\\") {
        if (!/^\\(["\\/bfnrt]|u[0-9a-fA-F]{4})/.test(text.slice(at, at + 6))) {
          throw new Slip(
            at,
            'After a backslash only " \\ / b f n r t or u and four hexadecimal figures may stand.',
          );
        }
        at += 1;
      }
      at += 1;
    }
    throw new Slip(start, "This text has no closing quotation mark on its line.");
  };

  const value = (path: string, depth: number): void => {
    if (depth > DEEPEST) throw new Slip(at, "The file is nested too deeply.");
    skipSpace();
    lines.set(path, placeOf(at).line);
    const character = text[at];
    if (character === undefined) throw new Slip(at, "The file ends before a value.");
    if (character === "{") object(path, depth);
    else if (character === "[") array(path, depth);
    else if (character === '"') string();
    else word();
  };

  const word = (): void => {
    const start = at;
    while (at < text.length && !' \t\r\n,:{}[]"'.includes(text[at]!)) at += 1;
    const found = text.slice(start, at);
    if (/^(true|false|null|-?(0|[1-9]\d*)(\.\d+)?([eE][+-]?\d+)?)$/.test(found)) return;
    if (/^['‘’“”„]/.test(found))
      throw new Slip(start, 'Text stands between straight double quotation marks, "like this".');
    if (found === "") throw new Slip(start, `A value is missing before ${text[start]}.`);
    if (/^[+.]|^-?0\d|^-?\.|\.$/.test(found) && /^[-+\d.eE]+$/.test(found)) {
      throw new Slip(
        start,
        "A number starts with a figure or a minus, without needless zeros, and ends with a figure.",
      );
    }
    if (/^[-−]?(NaN|Infinity)$/.test(found)) throw new Slip(start, "Only finite numbers can be given.");
    if (found.startsWith("−"))
      throw new Slip(start, "The minus is a typographic one; type the keyboard's hyphen.");
    throw new Slip(
      start,
      "This is neither a number, nor a text in quotation marks, nor true, false or null.",
    );
  };

  const array = (path: string, depth: number): void => {
    at += 1;
    skipSpace();
    if (text[at] === "]") {
      at += 1;
      return;
    }
    for (let index = 0; ; index++) {
      value(joinPath(path, index), depth + 1);
      if (closes("]")) return;
    }
  };

  const object = (path: string, depth: number): void => {
    at += 1;
    skipSpace();
    if (text[at] === "}") {
      at += 1;
      return;
    }
    const keys = new Set<string>();
    for (;;) {
      skipSpace();
      const keyStart = at;
      if (text[at] === undefined) throw new Slip(at, "The file ends inside an object; a } is missing.");
      if (text[at] !== '"') {
        throw new Slip(
          at,
          /[\d-]/.test(text[at]!)
            ? "A key in quotation marks belongs here; is a decimal comma before it? Decimals take a point."
            : 'A key belongs here, between straight double quotation marks, "like this".',
        );
      }
      const key = string();
      const member = joinPath(path, key);
      if (keys.has(key)) repeated.push({ path: member, place: placeOf(keyStart) });
      keys.add(key);
      skipSpace();
      if (text[at] !== ":") throw new Slip(at, "A : belongs between the key and its value.");
      at += 1;
      value(member, depth + 1);
      if (closes("}")) return;
    }
  };

  /** Steps over a comma (false) or the closing mark (true). */
  const closes = (mark: "}" | "]"): boolean => {
    skipSpace();
    if (text[at] === mark) {
      at += 1;
      return true;
    }
    if (text[at] === undefined) throw new Slip(at, `The file ends too soon; a ${mark} is missing.`);
    if (text[at] !== ",") throw new Slip(at, `A comma or ${mark} belongs here.`);
    const comma = at;
    at += 1;
    skipSpace();
    if (text[at] === mark) throw new Slip(comma, `No comma may stand before ${mark}.`);
    return false;
  };

  try {
    value("", 0);
    skipSpace();
    if (at < text.length) throw new Slip(at, "Something stands after the end of the object.");
    return { slip: null, repeated, lines };
  } catch (problem) {
    if (!(problem instanceof Slip)) throw problem;
    const found =
      problem.offset < text.length ? text.slice(problem.offset, problem.offset + 20) : "the end of the file";
    return { slip: { place: placeOf(problem.offset), found, message: problem.message }, repeated, lines };
  }
}
