/** Every command that does something instead of answering, by its name; each loads when it is called. */
import type { Deed } from "./deed.js";

export const deeds: Readonly<Record<string, () => Promise<Deed>>> = {
  run: async () => (await import("./commands/run.js")).run,
  sight: async () => (await import("./commands/sight.js")).sight,
  watch: async () => (await import("./commands/watch.js")).watch,
  new: async () => (await import("./commands/new.js")).newFolder,
  kernel: async () => (await import("./commands/kernel.js")).kernel,
  completion: async () => (await import("./commands/completion.js")).completion,
};
