/**
 * The terminal at the telescope: a star, Enter when it is centred, two readings; every sighting is on the disk at once.
 */
import { createInterface } from "node:readline";
import { Writable } from "node:stream";
import { PolewrightError } from "../errors.js";
import type { NightFolder } from "../files/night-folder.js";
import { wrap } from "../report/text.js";
import { formatTime } from "../sky/time.js";
import { plainText } from "../words/escape.js";
import { textWidths } from "./give.js";
import { commands, readTyped, SightSession } from "./sight-session.js";
import { coloursOf, inColours, RED_ON_BLACK } from "./terminal.js";

/** Enters sightings until `quit`, Ctrl-C or the terminal's end. */
export async function enterAtTelescope(
  book: NightFolder,
  { theme }: { readonly theme?: string },
): Promise<void> {
  if (!process.stdin.isTTY || !process.stdout.isTTY) {
    throw new PolewrightError(
      "no-terminal",
      "sight NIGHT.csv asks and answers in a terminal, and there is none here. Write rows into the night file instead, or use --fits.",
    );
  }
  const [{ default: input }, { default: search }] = await Promise.all([
    import("@inquirer/input"),
    import("@inquirer/search"),
  ]);
  const colours = coloursOf(process.stdout, theme);
  // A prompt ends the stream that it is given, so each has its own.
  const context = () => ({ output: colours === "night" ? redOnBlack() : process.stdout });
  const tell = (lines: readonly string[]): void => {
    const { width } = textWidths(process.stdout.columns);
    for (const line of lines) {
      if (line !== "")
        process.stdout.write(inColours(`${wrap(plainText(line), width - 1).join("\n")}\n`, colours));
    }
  };
  const session = new SightSession(book, Date.now);
  /** What was taken and is not yet on the disk. */
  let pending = "";

  const readSighting = async (star: string): Promise<void> => {
    tell(session.before(star));
    await input({ message: `Centre ${star}, then press Enter` }, context());
    // The hand on the key is no better than a tenth of a second.
    let timeMs = Math.round(Date.now() / 100) * 100;
    tell([`Give ${session.readingsWanted}. -5s moves the time, an empty line leaves the star.`]);
    for (;;) {
      pending = `${star} at ${formatTime(timeMs)}`;
      const typed = await input({ message: `${formatTime(timeMs)}  Readings` }, context());
      if (typed.trim() === "") {
        pending = "";
        tell(["Nothing was entered."]);
        return;
      }
      const read = readTyped(typed);
      if (read === null) tell(["Two readings are needed, or one and a - for the other."]);
      else if ("shiftS" in read) timeMs += 1000 * read.shiftS;
      else {
        try {
          tell(session.enter(star, timeMs, read.hourAngle, read.declination));
          pending = "";
          return;
        } catch (problem) {
          if (!(problem instanceof PolewrightError)) throw problem;
          tell([problem.message]);
        }
      }
    }
  };

  const paste = async (): Promise<void> => {
    tell(["Paste the table; an empty line ends it."]);
    // A prompt for each line would lose those that come at once.
    const lines: string[] = [];
    const reader = createInterface({ input: process.stdin, output: process.stdout, terminal: false });
    for await (const line of reader) {
      if (line.trim() === "") break;
      lines.push(line);
    }
    reader.close();
    const text = lines.join("\n");
    tell(session.preview(text));
    const sure = await input({ message: "Enter these sightings? (yes or no)" }, context());
    tell(/^y/i.test(sure.trim()) ? session.enterPasted(text) : ["Nothing was entered."]);
  };

  tell(session.opening());
  tell(["A star's name or a command; Tab completes, Enter takes the marked line."]);
  let next = session.next();
  tell(session.nextWords(next));
  for (;;) {
    try {
      const suggested = next !== null && typeof next !== "string" ? next.star : null;
      const wanted = await search<string>(
        {
          message: "Star",
          pageSize: 6,
          source: (word) =>
            session.completions(word ?? "", suggested).map(({ value, says }) => ({
              value,
              name: says === "" ? value : `${value}  (${says})`,
              short: value,
            })),
        },
        context(),
      );
      const name = wanted.split(/\s+/)[0]!;
      if (name === "quit") break;
      if (name === "paste") await paste();
      else if (Object.hasOwn(commands, name)) tell(session.command(wanted));
      else {
        await readSighting(wanted);
        next = session.next();
        tell(session.nextWords(next));
      }
    } catch (problem) {
      if ((problem as Error).name === "ExitPromptError") break;
      if (!(problem instanceof PolewrightError)) throw problem;
      tell([problem.message]);
    }
  }
  if (pending !== "") tell([`NOT entered, because its readings were not given: ${pending}.`]);
  tell(session.closing());
  if (colours === "night") process.stdout.write("\x1b[0m\n");
}

/** Everything red on black, whatever colours the prompts choose: white light spoils the night's eyes. */
function redOnBlack(): NodeJS.WritableStream & { columns?: number } {
  const stream = new Writable({
    decodeStrings: false,
    write(chunk: string | Buffer, _encoding, done) {
      // biome-ignore lint/suspicious/noControlCharactersInRegex: colours are set by control characters
      const plain = String(chunk).replace(/\x1b\[[0-9;]*m/g, "");
      process.stdout.write(`${RED_ON_BLACK}${plain}`);
      // At once: what is said next must not overtake it.
      done();
    },
  });
  return Object.defineProperty(stream, "columns", { get: () => process.stdout.columns });
}
