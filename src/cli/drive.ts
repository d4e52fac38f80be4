/**
 * The driver of the command line: makes a command of whatever a question or a deed takes, reads its files, and gives
 * the answer. No option is taken and then ignored: one that would have no effect is wrong usage.
 */
import { Argument, Command, InvalidArgumentError, Option } from "commander";
import { type Question, WrongUsage } from "../answers/answer.js";
import { choice, flag, type NotTaken, type Take, type Takes, text, themedPage } from "../answers/takes.js";
import type { Deed } from "./deed.js";
import { give } from "./give.js";
import { diskReading } from "./reading.js";
import { withProgress } from "./terminal.js";

/** The theme of a page, and of colours on the terminal. */
export const themeOption = choice("name", "of the page and of the terminal's colours", ["light", "night"]);

/** What every question takes besides its own. */
export const answerOptions = {
  json: flag("answer as JSON"),
  html: text("file", "write a page with the pictures too"),
  theme: themeOption,
};

/** The command of a question. */
export function questionCommand(question: Question): Command {
  const takes = { ...question.takes, ...answerOptions };
  return commandOf(question, takes, async (values) => {
    const { json, html, theme } = values as { json: boolean; html?: string; theme?: string };
    const read = diskReading(theme);
    checkTheme(theme, html !== undefined || question.takes.out === themedPage, json);
    const told = await withProgress(() => question.answer(values, read), theme);
    await give(told, read.warnings, {
      json,
      ...(html === undefined ? {} : { html }),
      ...(theme === undefined ? {} : { theme }),
    });
  });
}

/** Refuses a theme that neither a page nor a terminal would show. */
export function checkTheme(theme: string | undefined, onPage: boolean, json: boolean): void {
  if (theme !== undefined && !onPage && (json || !process.stdout.isTTY)) {
    throw new WrongUsage("error: option --theme has an effect only on a terminal, or with --html");
  }
}

/** The command of a deed. */
export function deedCommand(deed: Deed): Command {
  return commandOf(deed, deed.takes, (values) => deed.run(values));
}

type Values = Readonly<Record<string, unknown>>;

function commandOf(
  { name, asks, example }: { readonly name: string; readonly asks: string; readonly example: string },
  takes: Takes,
  run: (values: Values) => Promise<void>,
): Command {
  const command = new Command(name)
    .description(asks)
    .addHelpText("after", `\nExample:\n  ${example}`)
    .exitOverride();
  const places: string[] = [];
  for (const [key, take] of Object.entries(takes)) {
    if (take.as === "option") command.addOption(optionOf(key, take));
    else {
      places.push(key);
      command.addArgument(argumentOf(take));
    }
  }
  return command.action(async (...parts: unknown[]) => {
    const options = parts[places.length] as Values;
    const given: Values = { ...options, ...Object.fromEntries(places.map((key, k) => [key, parts[k]])) };
    refuseWithoutEffect(takes, given);
    await run(withDefaults(takes, given));
  });
}

function argumentOf(take: Take<unknown>): Argument {
  const word = take.as === "places" ? `${take.value}...` : take.value;
  const argument = new Argument(take.needed ? `<${word}>` : `[${word}]`, take.help);
  return take.choices === undefined ? argument : argument.choices([...take.choices]);
}

/** An option as it is written: `--as-entered` for `asEntered`. */
export const dashed = (key: string): string =>
  `--${key.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`;

function optionOf(key: string, take: Take<unknown>): Option {
  const option = new Option(
    take.value === null ? dashed(key) : `${dashed(key)} <${take.value}>`,
    take.help,
  ).makeOptionMandatory(take.needed);
  if (take.value === null) return option;
  const choose = take.choices === undefined ? undefined : option.choices([...take.choices]).parseArg;
  return option.argParser((given, before: unknown) => {
    if (before !== undefined) throw new InvalidArgumentError("The option is given twice.");
    if (choose !== undefined) return choose(given, before);
    const value = take.parse(given);
    if (isNotTaken(value)) throw new InvalidArgumentError(value.notTaken);
    return value;
  });
}

const isNotTaken = (value: unknown): value is NotTaken =>
  typeof value === "object" && value !== null && "notTaken" in value;

const isGiven = (value: unknown): boolean =>
  Array.isArray(value) ? value.length > 0 : value !== undefined && value !== false;

/** Refuses what would have no effect beside what else was given. */
function refuseWithoutEffect(takes: Takes, given: Values): void {
  const named = (key: string): string =>
    takes[key]?.as === "option" ? dashed(key) : `<${takes[key]?.value}>`;
  const problems = Object.entries(takes).flatMap(([key, { onlyWith, onlyWithout }]) => {
    if (!isGiven(given[key])) return [];
    if (onlyWith !== undefined && !isGiven(given[onlyWith])) {
      return [`option ${dashed(key)} has an effect only with ${named(onlyWith)}`];
    }
    if (onlyWithout !== undefined && isGiven(given[onlyWithout])) {
      return [`option ${dashed(key)} has no effect with ${named(onlyWithout)}`];
    }
    return [];
  });
  if (problems.length > 0) throw new WrongUsage(`error: ${problems.join("; ")}`);
}

/** A flag that is not given is false; places that are not given are none. */
function withDefaults(takes: Takes, given: Values): Values {
  const values: Record<string, unknown> = {};
  for (const [key, take] of Object.entries(takes)) {
    const fallback =
      take.as === "places" ? [] : take.as === "option" && take.value === null ? false : undefined;
    values[key] = given[key] ?? fallback;
  }
  return values;
}
