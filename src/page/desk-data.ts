/**
 * What the desk page is made with: how the mount stands, and what may be said of it.
 */
import { type Fault, InputError } from "../errors.js";
import { evidenceOf } from "../fit/evidence.js";
import type { MountFit } from "../fit/fit-result.js";
import type { Mount } from "../mount/mount.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { formatTime } from "../sky/time.js";

/** What stands in the page as JSON. */
export interface DeskData {
  readonly mount: Mount;
  /** A fit without its residuals, or a kept model; null where nothing is known yet. */
  readonly standing: MountStanding | null;
  /** What the fit has to say; it stands above the readings. */
  readonly notes: readonly { readonly message: string; readonly remedy: string }[];
  /** When the page was made, ISO 8601. */
  readonly made: string;
}

/** What a desk page is asked for. */
export interface DeskQuestion {
  readonly mount: Mount;
  /** The night's own fit, where that is what is known. */
  readonly fit: MountFit | null;
  /** A kept model, with tonight's zeros or without; counts where there is no fit. */
  readonly kept: MountStanding | null;
  /** When the page is made, milliseconds of UTC since 1970. */
  readonly madeMs: number;
}

/**
 * What a desk page is made with.
 *
 * @throws {@link InputError} `night-not-sound` for a fit that cannot be trusted as it stands
 */
export function deskData(question: DeskQuestion): DeskData {
  const { mount, fit, kept, madeMs } = question;
  const made = formatTime(1000 * Math.round(madeMs / 1000));
  if (fit === null || fit.sightings.used === 0) return { mount, standing: kept, notes: [], made };
  if (!fit.sound) {
    throw new InputError(
      fit.notes
        .slice(0, 3)
        .map((note): Fault => ({ code: "night-not-sound", message: note.message, allowed: note.remedy })),
    );
  }
  const notes = fit.notes.map(({ message, remedy }) => ({ message, remedy }));
  return { mount, standing: standingOf(fit), notes, made };
}

/** Of a fit what readings need: not the sightings one by one, which would make the page long. */
function standingOf(fit: MountFit): MountStanding {
  const { residuals: _residuals, ...rest } = fit;
  return { ...rest, evidence: evidenceOf(fit) };
}
