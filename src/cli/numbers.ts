import { InvalidArgumentError } from "commander";

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
