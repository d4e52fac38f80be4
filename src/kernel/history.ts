/**
 * What was run in this kernel, for consoles that offer it again. It lives as long as the kernel; nothing is written.
 *
 * Source: "Messaging in Jupyter" 5.3, "History".
 */

/** One run of code. */
interface Entry {
  readonly line: number;
  readonly input: string;
  /** The value of its last expression as text, where it has one. */
  readonly output: string | null;
}

/** What is asked for. */
interface HistoryRequest {
  readonly hist_access_type?: unknown;
  readonly output?: unknown;
  readonly n?: unknown;
  readonly session?: unknown;
  readonly start?: unknown;
  readonly stop?: unknown;
  readonly pattern?: unknown;
  readonly unique?: unknown;
}

/** Session, line, and the input or both input and output. */
type Told = readonly [number, number, string | readonly [string, string | null]];

/** There is one session a kernel. */
const SESSION = 1;

export class History {
  readonly #entries: Entry[] = [];

  add(entry: Entry): void {
    this.#entries.push(entry);
  }

  /** The entries that are asked for, oldest first. */
  told(request: HistoryRequest): Told[] {
    return this.#chosen(request).map(({ line, input, output }) => [
      SESSION,
      line,
      request.output === true ? [input, output] : input,
    ]);
  }

  #chosen({ hist_access_type: type, n, session, start, stop, pattern, unique }: HistoryRequest): Entry[] {
    if (type === "range") {
      // 0 is the present session in requests, and −1 the one before it, of which nothing is known.
      if (session !== undefined && session !== 0 && session !== SESSION) return [];
      const from = typeof start === "number" ? start : 0;
      const to = typeof stop === "number" ? stop : Number.POSITIVE_INFINITY;
      return this.#entries.filter(({ line }) => line >= from && line < to);
    }
    let found = this.#entries;
    if (type === "search") {
      const wanted = globPattern(typeof pattern === "string" ? pattern : "*");
      found = found.filter(({ input }) => wanted.test(input));
      if (unique === true) found = [...new Map(found.map((entry) => [entry.input, entry])).values()];
    }
    return typeof n === "number" ? found.slice(Math.max(0, found.length - n)) : found;
  }
}

/** `*` stands for any text, `?` for one character. */
function globPattern(glob: string): RegExp {
  const source = glob
    .replace(/[.+^${}()|[\]\\]/g, "\\$&")
    .replace(/\*+/g, "[^]*?")
    .replace(/\?/g, "[^]");
  return new RegExp(`^${source}$`);
}
