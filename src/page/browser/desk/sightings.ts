/** Sighting a star at the desk: entered, checked, kept, and given as a night file. */
import { InputError } from "../../../errors.js";
import type { Target } from "../../../find/target.js";
import type { Mount } from "../../../mount/mount.js";
import type { MountStanding } from "../../../pointing/known-mount.js";
import { tryFindDeepSky } from "../../../sky/deep-sky.js";
import { findStar } from "../../../sky/find-star.js";
import { arcminText } from "../../../words/numbers.js";
import { make, part, say } from "../shared/dom.js";
import type { DeskClock } from "./clock.js";
import type { DeskMemory, EnteredSighting } from "./state.js";
import { zeroText } from "./words.js";
import { checked, nightText, sightingOf, type Zeros, zeroShift, zerosInForce } from "./zeros.js";

const SECOND_MS = 1000;

/** The part of the page where stars are sighted. */
export class SightingDesk {
  private centredMs: number | null = null;
  private inForce: Zeros;

  constructor(
    private readonly mount: Mount,
    private readonly base: MountStanding | null,
    private readonly memory: DeskMemory,
    private readonly clock: DeskClock,
    private readonly onZeros: () => void,
  ) {
    this.inForce = this.found();
  }

  /** What readings go by. */
  get zeros(): Zeros {
    return this.inForce;
  }

  private found(): Zeros {
    return zerosInForce(this.base, this.mount, this.memory.now.sightings);
  }

  start(): void {
    part("centred").addEventListener("click", () => this.setTime(this.clock.now()));
    const shift = (id: string, seconds: number): void =>
      part(id).addEventListener("click", () =>
        this.setTime((this.centredMs ?? this.clock.now()) + seconds * SECOND_MS),
      );
    shift("earlier-5", -5);
    shift("earlier-1", -1);
    shift("later-1", 1);
    part("sighting").addEventListener("submit", (event) => {
      event.preventDefault();
      this.record(false);
    });
    part("set-zeros").addEventListener("click", () => this.record(true));
    this.memory.onChange((isForeign) => {
      if (isForeign) this.refresh();
    });
    part("download").addEventListener("click", () => this.download());
    part("copy").addEventListener("click", () => void this.copy());
    this.draw();
  }

  /** Offers the chosen star as the one to be sighted. */
  offer(target: Target): void {
    if (this.centredMs === null && target.kind === "star")
      part<HTMLInputElement>("sighted-star").value = target.label;
  }

  private setTime(timeMs: number): void {
    this.centredMs = timeMs;
    part("centred-time").hidden = false;
    say(part("centred-text"), `Centred at ${this.clock.second(timeMs)}`);
  }

  private record(setsZeros: boolean): void {
    const fault = part("sighting-fault");
    say(fault, "");
    try {
      const entered = this.entered(setsZeros);
      sightingOf(entered, this.mount);
      const before = this.inForce;
      const check = checked(before, entered, this.mount);
      this.memory.change({ sightings: [...this.memory.now.sightings, entered] });
      this.inForce = this.found();
      say(part("says"), setsZeros ? this.zerosSaid(before, entered) : this.checkSaid(check, entered));
      this.clear();
      if (setsZeros) this.onZeros();
      this.draw();
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      say(
        fault,
        problem.faults
          .map((one) => `${one.message} ${one.allowed ? `Allowed: ${one.allowed}.` : ""}`)
          .join(" "),
      );
    }
  }

  /** What stands in the form. */
  private entered(setsZeros: boolean): EnteredSighting {
    const value = (id: string): string => part<HTMLInputElement>(id).value.trim();
    const refuse = (code: string, message: string, allowed: string): never => {
      throw new InputError({ code, message, allowed });
    };
    if (this.centredMs === null)
      return refuse("no-time", "The moment is not known.", "press “Centred now” when the star is centred");
    const [hourAngle, declination] = [value("sighted-hour-angle"), value("sighted-declination")];
    if (hourAngle === "" || declination === "")
      return refuse("no-reading", "A reading is missing.", "what both axes read");
    const name = value("sighted-star");
    const object = tryFindDeepSky(name);
    const star = object === undefined ? findStar(name) : null;
    return {
      timeMs: this.centredMs,
      label: star?.label ?? object?.label ?? name,
      star: star?.label ?? "",
      raDeg: star === null ? (object?.raDeg ?? null) : null,
      decDeg: star === null ? (object?.decDeg ?? null) : null,
      hourAngle: hourAngle.replace(/^−/, "-"),
      declination: declination.replace(/^−/, "-"),
      beyond: part<HTMLInputElement>("present-beyond").checked,
      note: value("sighted-note"),
      zeroSet: this.inForce.zeroSet + (setsZeros ? 1 : 0),
      setsZeros,
      use: true,
    };
  }

  private zerosSaid(before: Zeros, entered: EnteredSighting): string {
    const { hourAngle, declination } = this.mount.readings;
    const shift = zeroShift(before.standing, this.inForce.standing);
    const moved =
      shift === null
        ? ""
        : ` They moved by ${zeroText(shift.hourAngle, hourAngle)} and ${zeroText(shift.declination, declination)}.`;
    return `The zeros are set by ${entered.label}.${moved} One star cannot check the model: check with a second one, far from it.`;
  }

  private checkSaid(check: ReturnType<typeof checked>, entered: EnteredSighting): string {
    if (check === null)
      return `${entered.label} is recorded. The zeros are not known yet, so nothing could be checked.`;
    const off = `${entered.label} is ${arcminText(check.distance)} off, where ${arcminText(check.expected)} was expected`;
    if (check.agrees) return `${off}: it agrees. The mount stands as the model says.`;
    return this.inForce.setBy === null
      ? `${off}: it does not agree. Either it is another star, or the zeros have moved. Set the zeros by it, then check with a second star.`
      : `${off}: it does not agree with ${this.inForce.setBy.label}. One of the two is another star, or the mount no longer stands as the model says. Trust no reading until a third star has decided.`;
  }

  private clear(): void {
    this.centredMs = null;
    part("centred-time").hidden = true;
    for (const id of ["sighted-hour-angle", "sighted-declination", "sighted-note"])
      part<HTMLInputElement>(id).value = "";
  }

  private use(index: number, use: boolean): void {
    const sightings = this.memory.now.sightings.map((one, at) => (at === index ? { ...one, use } : one));
    this.memory.change({ sightings });
    this.refresh();
  }

  private refresh(): void {
    this.inForce = this.found();
    this.onZeros();
    this.draw();
  }

  /** The table of what was entered, and which zeros are in force. */
  draw(): void {
    const { sightings } = this.memory.now;
    const { setBy } = this.inForce;
    say(
      part("zeros-in-force"),
      setBy !== null
        ? `Zeros in force: set by ${setBy.label} at ${this.clock.minute(setBy.timeMs)}.`
        : this.base === null
          ? "The zeros are not known yet."
          : this.base.zerosFrom
            ? `Zeros in force: those of ${this.clock.minute(Date.parse(this.base.zerosFrom))}. Set them by one star if the encoders have been switched off since.`
            : "Zeros in force: those of the night’s sightings.",
    );
    const head = ["Time", "Star", "Hour angle", "Declination", "Off by", ""].map((text) =>
      make("th", { scope: "col" }, text === "" ? make("span", { class: "unseen" }, "Take back") : text),
    );
    const rows = sightings.map((one, index) => this.row(one, index));
    part("sightings").replaceChildren(
      ...(rows.length === 0
        ? []
        : [
            make(
              "table",
              { class: "number" },
              make("caption", { class: "unseen" }, "Sightings entered here"),
              make("thead", {}, make("tr", {}, ...head)),
              make("tbody", {}, ...rows),
            ),
          ]),
    );
    for (const id of ["download", "copy"]) part<HTMLButtonElement>(id).disabled = rows.length === 0;
    say(
      part("kept"),
      this.memory.works
        ? "What is entered here stays in this browser until it is taken back."
        : "This browser keeps nothing for this page: download the CSV before you close it.",
    );
  }

  private row(one: EnteredSighting, index: number): HTMLTableRowElement {
    const before = this.memory.now.sightings.slice(0, index);
    const check = one.setsZeros
      ? null
      : checked(zerosInForce(this.base, this.mount, before), one, this.mount);
    const off = one.setsZeros
      ? "sets the zeros"
      : check === null
        ? "—"
        : `${arcminText(check.distance)}${check.agrees ? "" : " (!)"}`;
    const cells = [this.clock.minute(one.timeMs), one.label, one.hourAngle, one.declination, off];
    return make(
      "tr",
      {},
      ...cells.map((text) => make("td", one.use ? {} : { class: "withdrawn" }, text)),
      make(
        "td",
        {},
        make(
          "button",
          {
            type: "button",
            class: "no-print",
            "aria-label": `${one.use ? "Take back" : "Use again"} ${one.label} at ${this.clock.minute(one.timeMs)}`,
            click: () => this.use(index, !one.use),
          },
          one.use ? "Take back" : "Use again",
        ),
      ),
    );
  }

  private csv(): string {
    return nightText(this.memory.now.sightings, this.mount);
  }

  private download(): void {
    const url = URL.createObjectURL(new Blob([this.csv()], { type: "text/csv" }));
    const day = new Date(this.clock.now()).toISOString().slice(0, 10);
    const link = make("a", { href: url, download: `night-${day}.csv` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60 * SECOND_MS);
    say(part("says"), `The night file night-${day}.csv is on its way to the downloads.`);
  }

  private async copy(): Promise<void> {
    try {
      await navigator.clipboard.writeText(this.csv());
      say(part("says"), "The CSV is copied.");
    } catch {
      say(part("says"), "This browser does not let a page copy: download the CSV.");
    }
  }
}
