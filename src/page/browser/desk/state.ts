/** What the desk remembers in this browser. */
import { keep, keepOnDisk, recall, recallFromDisk } from "../shared/memory.js";

/** A sighting as it was entered. */
export interface EnteredSighting {
  /** Milliseconds of UTC since 1970, the clock's error taken off. */
  readonly timeMs: number;
  /** As it is shown. */
  readonly label: string;
  /** The catalogue's star; empty where it goes by coordinates. */
  readonly star: string;
  readonly raDeg: number | null;
  readonly decDeg: number | null;
  readonly hourAngle: string;
  readonly declination: string;
  readonly beyond: boolean;
  readonly note: string;
  /** The set of zeros, counted from 0: those that the page was made with. */
  readonly zeroSet: number;
  /** Whether the zeros of its set were set by it. */
  readonly setsZeros: boolean;
  readonly use: boolean;
}

/** All that is remembered. */
export interface DeskState {
  /** How often it was changed: the store that is ahead is believed. */
  readonly changes: number;
  readonly ticked: readonly string[];
  readonly sightings: readonly EnteredSighting[];
  /** To be added to the device's clock, milliseconds; and when that was found. */
  readonly clockMs: number;
  readonly clockSetMs: number | null;
  readonly chosen: string | null;
  readonly present: {
    readonly hourAngle: string;
    readonly declination: string;
    readonly beyond: boolean;
    readonly typedMs: number | null;
  };
}

const EMPTY: DeskState = {
  changes: 0,
  ticked: [],
  sightings: [],
  clockMs: 0,
  clockSetMs: null,
  chosen: null,
  present: { hourAngle: "", declination: "", beyond: false, typedMs: null },
};

/** The desk's memory, one for each mount. */
export class DeskMemory {
  private state: DeskState;
  private readonly key: string;
  private readonly listeners: ((isForeign: boolean) => void)[] = [];
  /** False once this browser refused to keep anything. */
  works = true;

  constructor(mount: string) {
    this.key = `polewright-desk:${mount}`;
    this.state = { ...EMPTY, ...recall<Partial<DeskState>>(this.key, {}) };
    const { changes } = this.state;
    void recallFromDisk<DeskState>(this.key).then((kept) => {
      if (kept === undefined || kept.changes <= changes) return;
      this.take(kept);
      this.change({});
    });
    addEventListener("storage", ({ key }) => {
      if (key === this.key) this.take({ ...EMPTY, ...recall<Partial<DeskState>>(this.key, {}) });
    });
  }

  /** Takes over what another window has entered, or this one before the power went. */
  private take(theirs: DeskState): void {
    const { chosen, present } = this.state;
    this.state = { ...theirs, chosen, present };
    for (const listener of this.listeners) listener(true);
  }

  get now(): DeskState {
    return this.state;
  }

  /** Changes a part of it and keeps it at once. */
  change(part: Partial<DeskState>): void {
    this.state = { ...this.state, ...part, changes: this.state.changes + 1 };
    this.works = keep(this.key, this.state);
    keepOnDisk(this.key, this.state);
    for (const listener of this.listeners) listener(false);
  }

  /** Calls back after every change; says whether it was made elsewhere. */
  onChange(listener: (isForeign: boolean) => void): void {
    this.listeners.push(listener);
  }
}
