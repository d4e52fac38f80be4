/** The chosen object: the readings that the axes must show, moving with the sky, and how far they still have to go. */
import { InputError } from "../../../errors.js";
import { type FoundNow, foundNow, sceneAt } from "../../../find/find.js";
import type { Target } from "../../../find/target.js";
import type { Stand } from "../../../find/tonight-list.js";
import type { Mount } from "../../../mount/mount.js";
import { readingFromText } from "../../../mount/readings.js";
import type { PresentReadings } from "../../../pointing/axis-move.js";
import type { KnownMount } from "../../../pointing/known-mount.js";
import type { SkyOverNight } from "../../../sky/sky-over-night.js";
import { part, say } from "../shared/dom.js";
import type { DeskClock } from "./clock.js";
import type { DeskMemory } from "./state.js";
import {
  axisLabel,
  kindText,
  placeText,
  sideMatters,
  spanText,
  stayLine,
  wayReading,
  withinLine,
} from "./words.js";

/** Readings typed in longer ago than this are said to be old. */
const OLD_MS = 2 * 60_000;

/** The part of the page with the readings. */
export class Readings {
  private target: Target | null = null;
  private stand: Stand | null = null;

  constructor(
    private readonly mount: Mount,
    private readonly sky: SkyOverNight,
    private readonly memory: DeskMemory,
    private readonly clock: DeskClock,
  ) {}

  start(): void {
    const { readings } = this.mount;
    say(
      part("hour-angle-label"),
      axisLabel(
        readings.hourAngle.as === "rightAscension" ? "Hour-angle axis" : "Hour angle",
        readings.hourAngle,
      ),
    );
    say(part("declination-label"), axisLabel("Declination", readings.declination));
    part("present-side").hidden = !sideMatters(this.mount);
    const { present } = this.memory.now;
    const [hourAngle, declination, beyond] = [
      part<HTMLInputElement>("present-hour-angle"),
      part<HTMLInputElement>("present-declination"),
      part<HTMLInputElement>("present-beyond"),
    ];
    hourAngle.value = present.hourAngle;
    declination.value = present.declination;
    beyond.checked = present.beyond;
    const typed = (): void => {
      this.memory.change({
        present: {
          hourAngle: hourAngle.value,
          declination: declination.value,
          beyond: beyond.checked,
          typedMs: Date.now(),
        },
      });
    };
    hourAngle.addEventListener("input", typed);
    declination.addEventListener("input", typed);
    beyond.addEventListener("change", typed);
  }

  choose(target: Target): void {
    this.target = target;
    this.stand = null;
  }

  get chosen(): Target | null {
    return this.target;
  }

  /** Takes how long the chosen object stays within the limits. */
  stays(stand: Stand): void {
    this.stand = stand;
  }

  /** Shows everything as it is at the clock's moment. */
  show(known: KnownMount, daylight: boolean): void {
    if (this.target === null) return;
    const now = this.clock.now();
    const present = this.present();
    const found = foundNow(this.target, sceneAt(known, this.sky, now, { present, daylight }));
    say(part("target"), found.target);
    const side = found.side === "beyond" ? ", tube turned over the pole" : "";
    say(
      part("where"),
      `${[kindText(found.description, found.vMag), placeText(found.altitudeDeg, found.azimuthDeg)].filter((text) => text !== "").join(" · ")}${side}`,
    );
    const refusal = part("refusal");
    refusal.hidden = found.refused === null;
    say(refusal, found.refused?.message ?? "");
    say(part("hour-angle-reading"), found.predicted?.hourAngleText.replace("-", "−") ?? "—");
    say(part("declination-reading"), found.predicted?.declinationText.replace("-", "−") ?? "—");
    say(part("within"), withinLine(found, known.promises));
    say(part("stay"), this.stand === null ? "" : stayLine(this.stand, now, this.clock));
    this.showMove(found);
  }

  private showMove(found: FoundNow): void {
    const { move } = found;
    const { readings } = this.mount;
    const caution = part("move-caution");
    caution.hidden = !move?.caution;
    say(caution, move?.caution ?? "");
    say(part("move"), move === null ? "" : `Still to go: ${move.text}`);
    const { typedMs } = this.memory.now.present;
    const age = typedMs === null ? 0 : Date.now() - typedMs;
    const old = age > OLD_MS ? ` Typed ${spanText(age)} ago: read the axes again.` : "";
    say(
      part("move-readings"),
      move === null
        ? ""
        : `Hour angle ${wayReading(move.hourAngleReading, readings.hourAngle)}, declination ${wayReading(move.declinationReading, readings.declination)}.${old}`,
    );
  }

  /** The readings typed in; null where there are none, or where they cannot be read. */
  private present(): PresentReadings | null {
    const fault = part("present-fault");
    const { hourAngle, declination, beyond } = this.memory.now.present;
    if (hourAngle.trim() === "" || declination.trim() === "") {
      say(fault, "");
      return null;
    }
    try {
      const { readings } = this.mount;
      const read = {
        hourAngle: readingFromText(hourAngle, readings.hourAngle),
        declination: readingFromText(declination, readings.declination),
        side: beyond ? ("beyond" as const) : ("normal" as const),
      };
      say(fault, "");
      return read;
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      say(fault, problem.faults.map((one) => `${one.message} Allowed: ${one.allowed}.`).join(" "));
      return null;
    }
  }
}
