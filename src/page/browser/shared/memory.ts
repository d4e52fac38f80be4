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

let database: Promise<IDBDatabase> | undefined;

/** A store whose writes are on the disk when they are done: those of localStorage reach it only seconds later. */
async function diskStore(mode: IDBTransactionMode): Promise<IDBObjectStore> {
  database ??= new Promise((done, failed) => {
    const request = indexedDB.open("polewright", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("kept");
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  return (await database).transaction("kept", mode, { durability: "strict" }).objectStore("kept");
}

/** Keeps a value on the disk too, for a power cut the moment after; where the browser has no such store, not. */
export function keepOnDisk(key: string, value: unknown): void {
  diskStore("readwrite").then(
    (store) => store.put(value, key),
    () => {},
  );
}

/** What the disk has under a key. */
export async function recallFromDisk<Value>(key: string): Promise<Value | undefined> {
  try {
    const request = (await diskStore("readonly")).get(key);
    return await new Promise((done) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => done(undefined);
    });
  } catch {
    return undefined;
  }
}
