import { InputError } from "../errors.js";

/** The options that were given, without those that were not. */
export function given<T extends object>(options: T): { [Key in keyof T]?: Exclude<T[Key], undefined> } {
  return Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined)) as never;
}

/** Does some work; faults that name no file are named with the one that it was done on. */
export function inFile<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    throw new InputError(problem.faults.map((one) => ({ file, ...one })));
  }
}
