import { InvalidArgumentError } from "commander";
import { InputError } from "../errors.js";
import { parseTime } from "../sky/time.js";

/** A number given as an option; anything else is wrong usage. */
export function numberOption(text: string): number {
  const value = Number(text);
  if (text.trim() === "" || !Number.isFinite(value)) throw new InvalidArgumentError("It must be a number.");
  return value;
}

/** A number above zero. */
export function positiveOption(text: string): number {
  const value = numberOption(text);
  if (value <= 0) throw new InvalidArgumentError("It must be a number above zero.");
  return value;
}

/** A time with its zone; it is handed on as written. */
export function timeOption(text: string): string {
  try {
    parseTime(text);
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    const [fault] = problem.faults;
    throw new InvalidArgumentError(`${fault!.message} Allowed: ${fault!.allowed}.`);
  }
  return text;
}
