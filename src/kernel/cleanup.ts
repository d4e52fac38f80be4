/**
 * Tidying up that also happens when this process is interrupted or ends on its own.
 */

type Tidy = () => void;

const SIGNALS = ["SIGINT", "SIGTERM", "SIGHUP"] as const;
const pending = new Set<Tidy>();

/**
 * Has `tidy` run when this process ends or is interrupted, unless it was taken back by then.
 *
 * @param tidy - synchronous and harmless when run twice
 * @returns takes it back
 */
export function tidyAtEnd(tidy: Tidy): () => void {
  if (pending.size === 0) listen();
  pending.add(tidy);
  return () => {
    if (pending.delete(tidy) && pending.size === 0) unlisten();
  };
}

function tidyAll(): void {
  const all = [...pending];
  pending.clear();
  unlisten();
  for (const tidy of all) tidy();
}

function onSignal(signal: NodeJS.Signals): void {
  // Somebody else listens too, and decides; when the process ends after all, everything is tidied.
  if (process.listenerCount(signal) > 1) return;
  tidyAll();
  process.kill(process.pid, signal);
}

function listen(): void {
  process.on("exit", tidyAll);
  for (const signal of SIGNALS) process.on(signal, onSignal);
}

function unlisten(): void {
  process.off("exit", tidyAll);
  for (const signal of SIGNALS) process.off(signal, onSignal);
}
