/**
 * What a page remembers in this browser, so that nothing is lost when it is closed or loaded anew.
 */

/** A browser may keep nothing for a page that was opened from a file, or in private. */
export const memoryWorks: boolean = (() => {
  try {
    const key = "polewright-try";
    localStorage.setItem(key, "1");
    localStorage.removeItem(key);
    return true;
  } catch {
    return false;
  }
})();

/** What was kept under a key, or what to begin with. */
export function recall<Value>(key: string, first: Value): Value {
  if (!memoryWorks) return first;
  try {
    const text = localStorage.getItem(key);
    return text === null ? first : (JSON.parse(text) as Value);
  } catch {
    return first;
  }
}

/** Keeps a value under a key; false where the browser does not. */
export function keep(key: string, value: unknown): boolean {
  if (!memoryWorks) return false;
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}
