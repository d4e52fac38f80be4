/**
 * How a command answers: text or JSON on stdout, problems on stderr, and the exit code.
 */
import { type AnswerNote, noteOfWarning, type Told, WrongUsage } from "../answers/answer.js";
import { type Fault, faultTexts, InputError, PolewrightError } from "../errors.js";
import { checkOutputFile, isSameFile, writeOutputFile } from "../files/output-file.js";
import { block, type Report } from "../report/report.js";
import { reportText } from "../report/text.js";
import { plainJson, plainText } from "../words/escape.js";
import { coloursOf, inColours } from "./terminal.js";
import { packageVersion } from "./version.js";

/** Exit codes: answered; the input cannot be used; wrong usage. */
const ANSWERED = 0;
const UNUSABLE = 1;
export const WRONG_USAGE = 2;

/** How an answer is wanted. */
export interface Wanted {
  readonly json: boolean;
  readonly html?: string;
  readonly theme?: string | undefined;
}

/** Numbers in JSON keep nine significant digits: more are noise, and differ between machines. */
const SIGNIFICANT = 9;

function tidy(_key: string, value: unknown): unknown {
  if (typeof value !== "number") return value;
  return Number.isFinite(value) ? Number(value.toPrecision(SIGNIFICANT)) + 0 : null;
}

/** JSON of a result, without noise in its numbers. */
export function jsonText(value: object): string {
  return `${plainJson(JSON.stringify(value, tidy, 1))}\n`;
}

/** Text is read best in lines no longer than this; a table may use more of a wide terminal. */
const WIDEST_TEXT = 80;
const WIDEST_TABLE = 140;

/** How wide text and tables are on a terminal of so many columns; what goes to a file or a pipe has none. */
export function textWidths(columns: number | undefined): { width: number; tableWidth: number } {
  const there = columns || WIDEST_TEXT;
  return { width: Math.min(there, WIDEST_TEXT), tableWidth: Math.min(there, WIDEST_TABLE) };
}

/** Writes an answer where it is wanted, with what the readers warned of, and sets the exit code. */
export async function give(told: Told, warnings: readonly Fault[], wanted: Wanted): Promise<void> {
  if (warnings.length > 0) {
    const lines = faultTexts(warnings).map((text) => `Note: ${plainText(text)}\n`);
    process.stderr.write(inColours(lines.join(""), coloursOf(process.stderr, wanted.theme)));
  }
  const targets = [
    ...told.writes,
    ...(wanted.html === undefined ? [] : [{ path: wanted.html, option: "--html" }]),
  ];
  for (const [n, { path, option }] of targets.entries()) {
    const other = targets.slice(0, n).find((one) => isSameFile(one.path, path));
    if (other === undefined) continue;
    const message = `${other.option} and ${option} name one file, ${path}: give each its own. Nothing was written.`;
    throw new PolewrightError("same-file", message);
  }
  for (const { path, text, kind, option } of told.writes) {
    writeOutputFile(path, typeof text === "string" ? text : await text(), kind, option);
  }
  const pictures = wanted.html === undefined ? 0 : await writePage(told, warnings, wanted.html, wanted.theme);
  if (wanted.json) {
    const { notes, ...rest } = told.json as { notes: readonly AnswerNote[] };
    const json = { version: packageVersion(), ...rest, notes: [...warnings.map(noteOfWarning), ...notes] };
    process.stdout.write(jsonText(json));
  } else {
    const colours = coloursOf(process.stdout, wanted.theme);
    const colour = ({ none: "none", day: "ansi", night: "bold" } as const)[colours];
    const options = { ...textWidths(process.stdout.columns), colour };
    const texts = told.reports.map((report) => reportText(report, options).trimEnd());
    if (wanted.html !== undefined)
      texts.push(`The page${pictures > 0 ? " with the pictures" : ""}: ${plainText(wanted.html)}`);
    process.stdout.write(inColours(`${texts.join("\n\n")}\n`, colours));
  }
  process.exitCode = told.sound ? ANSWERED : UNUSABLE;
}

/** Writes the page; gives how many pictures it holds. */
async function writePage(
  told: Told,
  warnings: readonly Fault[],
  path: string,
  themeName: string | undefined,
): Promise<number> {
  checkOutputFile(path, "page", "--html");
  const [{ htmlPage }, { currentTheme, themeByName }] = await Promise.all([
    import("../notebook/page.js"),
    import("../notebook/theme.js"),
  ]);
  const figures = await told.figures();
  const page = htmlPage({
    title: told.reports[0]?.title ?? "Polewright",
    reports: [...warningsReport(warnings), ...told.reports],
    figures,
    theme: themeName === undefined ? currentTheme() : themeByName(themeName, "--theme"),
  });
  writeOutputFile(path, page, "page", "--html");
  return figures.length;
}

/** What the readers warned of stands above what it is about. */
function warningsReport(warnings: readonly Fault[]): Report[] {
  if (warnings.length === 0) return [];
  const blocks = [block.list(faultTexts(warnings))];
  return [{ title: "About the files", blocks }];
}

/**
 * A reader that has seen enough (`polewright … | head -1`) closes the pipe: the rest of the answer is for nobody, and no
 * fault. What else is to be done, such as a file to be written, still is.
 */
export function endQuietlyWithoutReader(): void {
  process.stdout.on("error", (problem: NodeJS.ErrnoException) => {
    if (problem.code === "EPIPE") return;
    process.exitCode = UNUSABLE;
    process.stderr.write(`The answer could not be written: ${problem.message}.\n`);
  });
  process.stderr.on("error", () => {
    // There is nowhere left to say it.
  });
}

/** Reports a problem: a sentence or more on stderr, JSON on stdout where JSON was asked for. */
export function giveProblem(problem: unknown, { json, theme }: Wanted): void {
  const complain = (text: string): void => {
    process.stderr.write(inColours(`${text}\n`, coloursOf(process.stderr, theme)));
  };
  process.exitCode = problem instanceof WrongUsage ? WRONG_USAGE : UNUSABLE;
  if (!(problem instanceof PolewrightError)) {
    const message = problem instanceof Error ? (problem.stack ?? problem.message) : String(problem);
    complain(`polewright met an error of its own; please report it:\n${message}`);
    if (json)
      process.stdout.write(jsonText({ version: packageVersion(), error: { code: "internal", message } }));
    return;
  }
  const faults: readonly Fault[] = problem instanceof InputError ? problem.faults : [];
  const lines = faults.length > 0 ? faultTexts(faults) : [problem.message];
  // A file's keys and names, told as they are, could move the terminal's cursor.
  complain(plainText(lines.join("\n")));
  if (json) {
    process.stdout.write(
      jsonText({
        version: packageVersion(),
        error: { code: problem.code, message: problem.message, faults },
      }),
    );
  }
}
