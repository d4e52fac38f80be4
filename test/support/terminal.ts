/** A program in a real terminal (tmux), 80 columns wide. */
import { spawnSync } from "node:child_process";
import { setTimeout as delay } from "node:timers/promises";

/** Whether there is a tmux to try it in. */
export const hasTmux = spawnSync("tmux", ["-V"]).status === 0;

/** A very busy machine may take so long over a step. */
const PATIENCE_MS = 60_000;

/** One terminal. */
export class Terminal {
  readonly #name: string;
  #starts = 0;

  /** @param name - tells its server from those of other tests */
  constructor(name: string) {
    this.#name = name;
  }

  /** Each start has a server of its own: one that is being ended would take the next start with it. */
  get #socket(): string {
    return `polewright-${this.#name}-${process.pid}-${this.#starts}`;
  }

  tmux(...args: string[]): string {
    return spawnSync("tmux", ["-L", this.#socket, ...args], { encoding: "utf8" }).stdout;
  }

  /** Starts a command afresh; when it ends the screen says ENDED. */
  start(command: readonly string[]): void {
    this.end();
    this.#starts += 1;
    const line = command.map((part) => `'${part}'`).join(" ");
    this.tmux("new-session", "-d", "-x", "80", "-y", "50", `${line}; echo ENDED; sleep 1000`);
  }

  end(): void {
    this.tmux("kill-server");
  }

  screen(...more: string[]): string {
    return this.tmux("capture-pane", "-p", "-J", ...more);
  }

  type(text: string): void {
    this.tmux("send-keys", "-l", "--", text);
  }

  press(key: string): void {
    this.tmux("send-keys", key);
  }

  /** Waits until the screen shows something, and gives the screen. */
  async shows(pattern: RegExp, ...more: string[]): Promise<string> {
    const end = Date.now() + PATIENCE_MS;
    for (;;) {
      const text = this.screen(...more);
      if (pattern.test(text)) return text;
      if (Date.now() > end) throw new Error(`The screen never showed ${pattern}:\n${text}`);
      await delay(50);
    }
  }
}
