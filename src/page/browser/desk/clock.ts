/** The desk's clock: the device's, with its error taken off where a time signal has told it. */
import { part, say } from "../shared/dom.js";
import type { DeskMemory } from "./state.js";

const MINUTE_MS = 60_000;
/** A time of day within so many milliseconds needs no day beside it. */
const A_NIGHT_MS = 16 * 60 * MINUTE_MS;
/** A device that is further off than this is not corrected by a number of seconds. */
const MOST_SECONDS = 3600;

/** Times as the desk shows them. */
export class DeskClock {
  private readonly local: Intl.DateTimeFormat;
  private readonly day: Intl.DateTimeFormat;

  constructor(
    private readonly memory: DeskMemory,
    readonly zone: string | undefined,
  ) {
    const base = {
      hour12: false,
      hourCycle: "h23",
      ...(zone === undefined ? {} : { timeZone: zone }),
    } as const;
    this.local = new Intl.DateTimeFormat("en-GB", {
      ...base,
      hour: "2-digit",
      minute: "2-digit",
      second: "2-digit",
    });
    this.day = new Intl.DateTimeFormat("en-GB", { ...base, day: "numeric", month: "short" });
  }

  /** Milliseconds of UTC since 1970. */
  now(): number {
    return Date.now() + this.memory.now.clockMs;
  }

  /** `21:14:05`, in the site's time. */
  second(timeMs: number): string {
    return this.local.format(timeMs);
  }

  /** `21:14`, with the day where it is not of this night: `3 Apr, 00:20`. */
  minute(timeMs: number): string {
    const rounded = MINUTE_MS * Math.round(timeMs / MINUTE_MS);
    const text = this.local.format(rounded).slice(0, 5);
    return Math.abs(timeMs - this.now()) < A_NIGHT_MS ? text : `${this.day.format(rounded)}, ${text}`;
  }

  /** Brings the clock's part of the page to life. */
  start(): void {
    const fast = part<HTMLInputElement>("fast");
    const fault = part("clock-fault");
    const correct = (clockMs: number): void => {
      fault.textContent = "";
      this.memory.change({ clockMs, clockSetMs: clockMs === 0 ? null : Date.now() + clockMs });
      fast.value = "";
      this.show();
    };
    part("full-minute").addEventListener("click", () => {
      const device = Date.now();
      correct(MINUTE_MS * Math.round(device / MINUTE_MS) - device);
    });
    part("clock-as-it-is").addEventListener("click", () => correct(0));
    fast.addEventListener("change", () => {
      const seconds = Number(fast.value.trim().replace(/^−/, "-").replace(",", "."));
      if (fast.value.trim() === "") return;
      if (!Number.isFinite(seconds) || Math.abs(seconds) > MOST_SECONDS) {
        fault.textContent = `“${fast.value}” is not a number of seconds from −${MOST_SECONDS} to ${MOST_SECONDS}.`;
        return;
      }
      correct(-1000 * seconds);
    });
    this.show();
  }

  /** What the clock says now. */
  show(): void {
    const now = this.now();
    say(part("local-time"), this.second(now));
    say(part("zone"), `${this.day.format(now)}, ${this.zone ?? "this device’s zone"}`);
    say(part("utc"), `${new Date(now).toISOString().slice(11, 19)} UTC`);
    const { clockMs, clockSetMs } = this.memory.now;
    const seconds = Math.abs(clockMs) / 1000;
    say(
      part("clock-error"),
      clockSetMs === null
        ? "This device’s clock is not checked"
        : `This device’s clock is ${seconds.toFixed(1)} s ${clockMs > 0 ? "slow" : "fast"}: corrected (${this.minute(clockSetMs)})`,
    );
  }
}
