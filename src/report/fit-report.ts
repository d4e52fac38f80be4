import { evidenceOf } from "../fit/evidence.js";
import type { MountFit, Note, Residual, StopReason, TermEstimate } from "../fit/fit-result.js";
import { eastOrWest, highOrLow, wayText } from "../words/directions.js";
import { count } from "../words/lists.js";
import { arcminText, estimateText, fixed, signed, sizeText } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

const stopText: Readonly<Record<StopReason, string>> = {
  converged: "the solution settled",
  "iteration-limit": "the solver ran out of its allowed rounds before it settled",
  "no-progress": "the solver could get no further although it had not settled",
  "no-sightings": "there were no sightings to solve",
};

/** Which end of the polar axis is the upper one, in words. */
export function upperEnd(latitudeDeg: number): string {
  return latitudeDeg < 0
    ? "the upper (south) end of the polar axis"
    : "the upper (north) end of the polar axis";
}

/**
 * How the mount stands, in sentences first and tables after: the verdict, what to look at and what to do about it, the
 * terms, the residuals.
 *
 * @param fit - the result of a fit
 * @returns a report for {@link reportText} or {@link reportHtml}
 * @example
 * ```ts
 * reportText(fitReport(fit), { width: 80 })
 * ```
 */
export function fitReport(fit: MountFit): Report {
  const blocks: Block[] = [...verdict(fit), ...notesBlocks(fit)];
  if (fit.terms.length > 0) {
    blocks.push(...termsBlocks(fit));
  }
  if (fit.residuals.length > 0) {
    blocks.push(...residualBlocks(fit));
  }
  return { title: `How ${fit.mount.name} stands`, blocks };
}

function verdict(fit: MountFit): Block[] {
  const { read, used, setAside } = fit.sightings;
  if (fit.stop.reason === "no-sightings" || used === 0) {
    const nothing =
      read === 0
        ? "There are no sightings yet, so nothing is known of how the mount stands. Sight a few stars, well spread over the sky, and fit again."
        : `None of the ${count(read, "sighting")} could be used, so nothing is known of how the mount stands. Look at the notes below.`;
    return [block.verdict(nothing)];
  }
  const blocks: Block[] = [];
  if (!fit.sound) {
    blocks.push(
      block.caution(
        "Turn nothing yet: these readings cannot be trusted as they stand. Correct what the notes below say, then fit again. The figures that follow are shown only to help find the fault.",
      ),
    );
  }
  const evidence = evidenceOf(fit);
  const few = evidence.allows === "values";
  if (few) {
    blocks.push(
      block.verdict(
        `Not known yet: ${evidence.missing} more ${evidence.missing === 1 ? "sighting is" : "sightings are"} needed before anything is turned. A misidentified star could not be seen among so few.`,
      ),
    );
  }
  const asideText = setAside === 0 ? "" : `, ${setAside} excluded from the fit`;
  const rms = `They fit to ${arcminText(fit.skyRms.found)} on the sky (expected ${arcminText(fit.skyRms.expected)})`;
  // Of one or two sightings the figures say next to nothing, and large ones frighten.
  const pole = few && fit.pole.distance.uncertainty > HARDLY_KNOWN_ARCMIN ? "" : `${poleSentence(fit)} `;
  blocks.push(
    block.toned(
      `${pole}${used} of ${count(read, "sighting")} used${asideText}. ${rms}.`,
      fit.sound && !few ? "verdict" : "plain",
    ),
  );
  if (fit.stop.reason !== "converged") {
    blocks.push(
      block.caution(
        `Take these figures with care: ${stopText[fit.stop.reason]} (${count(fit.stop.iterations, "round")}).`,
      ),
    );
  }
  return blocks;
}

/** An axis known no better than this is not known. */
const HARDLY_KNOWN_ARCMIN = 120;

/** One sentence: where the upper end of the polar axis points. */
export function poleSentence(fit: MountFit): string {
  const { pole } = fit;
  const end = upperEnd(fit.mount.site.latitude);
  const altitude = `${sizeText(pole.altitude)} ${highOrLow(pole.altitude.value)}`;
  const east = `${sizeText(pole.east)} ${eastOrWest(pole.east.value)}`;
  const sure = isBeyondDoubt(fit)
    ? ""
    : " That is within what these sightings can show: the axis could equally point right.";
  return `${capital(end)} points ${altitude} and ${east}, ${sizeText(pole.distance)} from the pole.${sure}`;
}

/** χ² of two degrees of freedom that is exceeded once in twenty. */
const CHI_SQUARE_95_OF_TWO = 5.991;

/** Whether the axis error stands outside its own 95 % ellipse. */
export function isBeyondDoubt(fit: MountFit): boolean {
  const { altitude, east, covariance } = fit.pole;
  const varianceA = altitude.uncertainty ** 2;
  const varianceE = east.uncertainty ** 2;
  const determinant = varianceA * varianceE - covariance ** 2;
  if (!(determinant > 0)) return Math.hypot(altitude.value, east.value) > 0;
  const square =
    (altitude.value ** 2 * varianceE -
      2 * altitude.value * east.value * covariance +
      east.value ** 2 * varianceA) /
    determinant;
  return square > CHI_SQUARE_95_OF_TWO;
}

function notesBlocks(fit: MountFit): Block[] {
  if (fit.notes.length === 0) return [];
  return [block.heading("What to look at"), block.list(fit.notes.map(noteText))];
}

/** A note as text: the row, what happened, what to do. */
export function noteText(note: Note): string {
  const rows = [...(note.row === null ? [] : [note.row]), ...(note.rows ?? [])];
  const unique = [...new Set(rows)].sort((a, b) => a - b);
  const named = unique.length === 1 && new RegExp(`\\brow ${unique[0]}\\b`, "i").test(note.message);
  const where =
    unique.length === 0 || named
      ? ""
      : unique.length === 1
        ? `Row ${unique[0]}: `
        : `Rows ${unique.join(", ")}: `;
  const remedy = note.remedy === "" ? "" : ` What to do: ${sentence(note.remedy)}`;
  return `${where}${sentence(note.message)}${remedy}`;
}

function termsBlocks(fit: MountFit): Block[] {
  // Without a sighting each line would repeat that nothing is known.
  if (fit.sightings.used === 0) return [];
  const severalSets = fit.terms.some((term) => term.set !== null);
  const head = ["Term", ...(severalSets ? ["Set"] : []), "Value ±", "Which way", "Tolerance", "Standing"];
  const align: ("left" | "right")[] = [
    "left",
    ...(severalSets ? (["left"] as const) : []),
    "right",
    "left",
    "right",
    "left",
  ];
  const shown = fit.terms.filter(matters);
  const unseen = fit.terms.length - shown.length;
  const rows = shown.map((term) => [
    term.label,
    ...(severalSets ? [term.set ?? ""] : []),
    estimateText(term, term.unit),
    wayText(term.name, term.value),
    toleranceText(term, fit.priors),
    term.standing,
  ]);
  const { chiSquare, pole } = fit;
  const azimuth = `In azimuth the axis is ${sizeText(pole.azimuth)} ${eastOrWest(pole.azimuth.value)} (turned about the vertical; times the cosine of the latitude that is the east error on the sky).`;
  const chi =
    chiSquare.degreesOfFreedom > 0
      ? `χ² is ${fixed(chiSquare.value, 1)} for ${count(chiSquare.degreesOfFreedom, "degree")} of freedom; good sightings scatter at least this much ${percent(chiSquare.probability)} of the time.`
      : "There are no sightings to spare, so the fit cannot be checked against itself: add more stars.";
  return [
    block.heading("The terms"),
    { kind: "table", caption: "What the mount's terms are tonight", head, rows, align },
    block.sentence(
      `± is one standard uncertainty: two times in three the true value lies within it. ${
        fit.priors
          ? "“Tolerance only” means that tonight's stars say less about a term than was known from the build."
          : "No tolerances were used: the stars alone decide."
      }`,
    ),
    ...(unseen > 0
      ? [
          block.sentence(
            "Eccentric encoders, scale errors, play, a step at the meridian, creep and settling are allowed for in every ±. Only those that tonight's readings show are listed.",
          ),
        ]
      : []),
    block.sentence(`${azimuth} ${chi}`),
    ...(fit.sound
      ? [
          block.sentence(
            "Assumed: the times and the site are right. Where the encoder zeros are set at will, a clock that is wrong all night cannot be seen; it would turn the axis error by 15° an hour.",
          ),
        ]
      : []),
  ];
}

/** Whether a term is listed: always, but for a cause that tonight's readings do not show. */
const matters = (term: TermEstimate): boolean => term.probability === null || term.probability >= 0.5;

function toleranceText(term: TermEstimate, priors: boolean): string {
  if (!priors || term.tolerance === null) return "free";
  return `± ${fixed(term.tolerance, term.tolerance < 1 ? 2 : 1)}′${term.unit === "arcmin" ? "" : "/rad"}`;
}

/** More rows than this nobody reads; of a longer night those that matter are shown. */
const MOST_ROWS = 500;

/** The residuals to show, in the night's order: all, or those set aside and then the largest. */
function shownResiduals({ residuals }: MountFit): readonly Residual[] {
  if (residuals.length <= MOST_ROWS) return residuals;
  const weight = (residual: Residual): number =>
    residual.standing === "set aside" ? Number.POSITIVE_INFINITY : residual.distance;
  return [...residuals]
    .sort((a, b) => (weight(a) === weight(b) ? a.row - b.row : weight(b) - weight(a)))
    .slice(0, MOST_ROWS)
    .sort((a, b) => a.row - b.row);
}

function residualBlocks(fit: MountFit): Block[] {
  const residuals = shownResiduals(fit);
  const some =
    residuals.length < fit.residuals.length
      ? `; the ${residuals.length} of ${fit.residuals.length} rows that were excluded from the fit or fit worst`
      : "";
  const rows = residuals.map((residual) => [
    String(residual.row),
    residual.star,
    residualText(residual.west),
    residualText(residual.north),
    arcminText(residual.distance),
    remark(residual),
  ]);
  return [
    block.heading("How each sighting fits"),
    {
      kind: "table",
      caption: `Telescope minus star, on the sky; west and north are positive${some}`,
      head: ["Row", "Star", "West", "North", "Distance", "Standing"],
      rows,
      align: ["right", "left", "right", "right", "right", "left"],
    },
  ];
}

function residualText(arcmin: number): string {
  return Math.abs(arcmin) < 120 ? `${signed(arcmin, 1)}′` : arcminText(arcmin, 0, true);
}

function remark(residual: Residual): string {
  const likely = residual.likelyStar === null ? "" : `; fits ${residual.likelyStar}`;
  return `${residual.standing}${likely}`;
}

function percent(probability: number): string {
  if (probability < 0.001) return "less than 0.1 %";
  return `${fixed(100 * probability, probability < 0.1 ? 1 : 0)} %`;
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A text that ends with a full stop and starts with a capital. */
export function sentence(text: string): string {
  const trimmed = capital(text.trim());
  return /[.!?…]$/.test(trimmed) ? trimmed : `${trimmed}.`;
}
