/**
 * Headers of FITS files: cards and their values. Pence and others 2010 (Astronomy and Astrophysics 524, A42), sections 3
 * and 4: blocks of 2880 bytes, cards of 80 characters, `KEYWORD = value / comment`, `CONTINUE` for long texts.
 */
import { fault, InputError } from "../errors.js";

/** A card's value. */
export type CardValue = string | number | boolean;

/** One header of a FITS file. */
export class FitsHeader {
  readonly file: string;
  readonly #cards: ReadonlyMap<string, CardValue | null>;

  constructor(file: string, cards: ReadonlyMap<string, CardValue | null>) {
    this.file = file;
    this.#cards = cards;
  }

  /** The value of a card; undefined where it is missing or has none. */
  value(card: string): CardValue | undefined {
    return this.#cards.get(card) ?? undefined;
  }

  has(card: string): boolean {
    return this.value(card) !== undefined;
  }

  /** A number, or `otherwise` where the card is missing; a fault where it is of another kind or nothing stands in. */
  number(card: string, otherwise?: number): number {
    const value = this.value(card) ?? otherwise;
    if (typeof value === "number") return value;
    const message =
      value === undefined ? "The picture's header has no such card." : "The card holds no number.";
    throw this.refusal(card, value === undefined ? "missing-card" : "wrong-card", message, "a number");
  }

  text(card: string, otherwise?: string): string {
    const value = this.value(card) ?? otherwise;
    if (typeof value === "string") return value;
    const message =
      value === undefined ? "The picture's header has no such card." : "The card holds no text.";
    throw this.refusal(card, value === undefined ? "missing-card" : "wrong-card", message, "a text");
  }

  /** An error that names the file and the card. */
  refusal(card: string, code: string, message: string, allowed: string): InputError {
    return new InputError(fault(code, { file: this.file, path: card }, message, allowed, this.value(card)));
  }
}

const BLOCK = 2880;
const CARD = 80;
/** More blocks than any header has. */
const MOST_BLOCKS = 2000;

/** Gives bytes of a file; fewer at its end. */
export type ReadBytes = (position: number, length: number) => Uint8Array;

/**
 * The headers of a FITS file, the first and those of its extensions.
 *
 * @param file - its name, for messages
 * @throws InputError `not-fits`, `fits-cut-short`
 */
export function* fitsHeaders(file: string, read: ReadBytes): Generator<FitsHeader> {
  for (let position = 0; ; ) {
    const start = read(position, BLOCK);
    if (start.length < BLOCK) {
      if (position > 0) return;
      throw notFits(file);
    }
    if (position === 0 && !latin(start).startsWith("SIMPLE  =")) throw notFits(file);
    const { cards, blocks } = readCards(file, read, position);
    const header = new FitsHeader(file, cards);
    yield header;
    position += BLOCK * (blocks + Math.ceil(dataBytes(header) / BLOCK));
  }
}

function notFits(file: string): InputError {
  const allowed = "a FITS file, which begins with SIMPLE and is made of blocks of 2880 bytes";
  return new InputError(fault("not-fits", { file }, "This is not a FITS file.", allowed));
}

const latin = (bytes: Uint8Array): string => Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");

function readCards(
  file: string,
  read: ReadBytes,
  position: number,
): { readonly cards: ReadonlyMap<string, CardValue | null>; readonly blocks: number } {
  const cards = new Map<string, CardValue | null>();
  let last = "";
  for (let block = 0; block < MOST_BLOCKS; block++) {
    const bytes = read(position + block * BLOCK, BLOCK);
    if (bytes.length < BLOCK) break;
    const text = latin(bytes);
    for (let at = 0; at < BLOCK; at += CARD) {
      const card = text.slice(at, at + CARD);
      const keyword = card.slice(0, 8).trimEnd();
      if (keyword === "END") return { cards, blocks: block + 1 };
      if (keyword === "CONTINUE") {
        const before = cards.get(last);
        const more = cardValue(card.slice(8));
        if (typeof before === "string" && before.endsWith("&") && typeof more === "string")
          cards.set(last, before.slice(0, -1) + more);
      } else if (card.startsWith("= ", 8)) {
        cards.set(keyword, cardValue(card.slice(10)));
        last = keyword;
      }
    }
  }
  const allowed = "a whole FITS file; if it is still being written, wait until it is";
  throw new InputError(fault("fits-cut-short", { file }, "The header of the picture has no end.", allowed));
}

/** Texts between quotation marks, doubled inside; T and F; numbers, with E or D. */
function cardValue(text: string): CardValue | null {
  const quoted = /^\s*'((?:[^']|'')*)'/.exec(text);
  if (quoted !== null) return quoted[1]!.replaceAll("''", "'").trimEnd();
  const plain = text.split("/")[0]!.trim();
  if (plain === "T" || plain === "F") return plain === "T";
  return /^[+-]?(\d+\.?\d*|\.\d+)([ED][+-]?\d+)?$/.test(plain) ? Number(plain.replace("D", "E")) : null;
}

function dataBytes(header: FitsHeader): number {
  const axes = header.number("NAXIS", 0);
  let elements = axes === 0 ? 0 : 1;
  for (let axis = 1; axis <= axes; axis++) elements *= header.number(`NAXIS${axis}`, 0);
  const parameters = header.number("PCOUNT", 0);
  const groups = header.number("GCOUNT", 1);
  return (Math.abs(header.number("BITPIX", 8)) / 8) * groups * (parameters + elements);
}
