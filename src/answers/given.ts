/** The options that were given, without those that were not. */
export function given<T extends object>(options: T): { [Key in keyof T]?: Exclude<T[Key], undefined> } {
  return Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined)) as never;
}
