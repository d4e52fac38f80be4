/**
 * What the desk page is made with: how the mount stands, and what may be said of it.
 */
import { type Fault, InputError } from "../errors.js";
import { evidenceOf } from "../fit/evidence.js";
import type { MountFit } from "../fit/fit-result.js";
import { type ExpressionTree, expressionTrees } from "../mount/custom-term.js";
import type { Mount } from "../mount/mount.js";
import type { MountStanding } from "../pointing/known-mount.js";
import { formatTime } from "../sky/time.js";
import { filledPage, type PageParts, type PageTheme, type WholePage } from "./page-text.js";

const MINUTE_MS = 60_000;

/** What stands in the page as JSON. */
export interface DeskData {
  readonly mount: Mount;
  /** The builder's own terms, read: the page has no parser. */
  readonly expressions: readonly ExpressionTree[];
  /** A fit without its residuals, or a kept model; null where nothing is known yet. */
  readonly standing: MountStanding | null;
  /** What the fit has to say; it stands above the readings. */
  readonly notes: readonly { readonly message: string; readonly remedy: string }[];
  /** What the page was made from, in words. */
  readonly from: string;
}

/** What a desk page is asked for. */
export interface DeskQuestion {
  readonly mount: Mount;
  /** The night's own fit, where that is what is known. */
  readonly fit: MountFit | null;
  /** A kept model, with tonight's zeros or without; counts where there is no fit. */
  readonly kept: MountStanding | null;
}

/**
 * What a desk page is made with.
 *
 * @throws {@link InputError} `night-not-sound` for a fit that cannot be trusted as it stands
 */
function deskData(question: DeskQuestion): DeskData {
  const { mount, fit, kept } = question;
  const expressions = expressionTrees(mount.customTerms);
  if (fit === null || fit.sightings.used === 0) {
    const from = kept === null ? "Made from the mount file alone." : "Made from a kept model.";
    return { mount, expressions, standing: kept, notes: [], from };
  }
  if (!fit.sound) {
    throw new InputError(
      fit.notes
        .slice(0, 3)
        .map((note): Fault => ({ code: "night-not-sound", message: note.message, allowed: note.remedy })),
    );
  }
  const notes = fit.notes.map(({ message, remedy }) => ({ message, remedy }));
  const when = fit.meanTimeMs === null ? "" : `, on average at ${formatTime(MINUTE_MS * Math.round(fit.meanTimeMs / MINUTE_MS)).slice(0, 16)} UTC`;
  return { mount, expressions, standing: standingOf(fit), notes, from: `Made from ${fit.sightings.used} sightings${when}.` };
}

/** Of a fit what readings need: not the sightings one by one, which would make the page long. */
function standingOf(fit: MountFit): MountStanding {
  const { residuals: _residuals, ...rest } = fit;
  return { ...rest, evidence: evidenceOf(fit) };
}

/** How high the desk stands in a notebook, pixels. */
const HEIGHT_PX = 1100;

/**
 * The desk page of what is known of a mount.
 *
 * @param question - what is known
 * @param parts - what the build made for pages
 * @param theme - the colours that it has at first
 * @throws {@link InputError} `night-not-sound`
 */
export function deskPage(question: DeskQuestion, parts: PageParts, theme: PageTheme): WholePage {
  const { mount } = question;
  const title = `Desk of ${mount.name}`;
  return {
    title,
    html: filledPage(parts("desk.html"), title, deskData(question), theme),
    summary: `${title}: a page with tonight's objects and their readings.`,
    heightPx: HEIGHT_PX,
  };
}
