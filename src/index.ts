/**
 * Polewright: from star sightings to levelling-jack turns.
 */

export type { BoltTurn, JackTurn, TurnAdvice, TurnStep } from "./base/turn-advice.js";
export type { TurnOptions } from "./base/turn-question.js";
export { type TurnedRow, turnedFileText, turnedRows } from "./base/turned-file.js";
export { type AppliedTurns, applyTurns } from "./base/turns-made.js";
export { type Fault, InputError, PolewrightError } from "./errors.js";
export { type Comparison, compareModels } from "./evening/compare.js";
export { type Daylight, daylight } from "./evening/daylight.js";
export { type Exposure, exposure } from "./evening/exposure.js";
export { fieldOfCamera, fieldOfEyepiece, type ImageField } from "./evening/field.js";
export { type KeptModel, keepModel, keptModelText, keptStanding, parseKeptModel } from "./evening/keep.js";
export { standingTonight } from "./evening/keep-tonight.js";
export type { MountStanding } from "./evening/known-mount.js";
export type {
  Estimate,
  MountFit,
  Note,
  NoteCode,
  PoleError,
  Residual,
  TermEstimate,
} from "./fit/fit-result.js";
export { coefficientsOf, modelOf } from "./fit/fitted-model.js";
export type { FitOptions } from "./fit/mount-fit.js";
export type { Mount } from "./mount/mount.js";
export { parseMount, parseMountText } from "./mount/mount-file.js";
export { type TermName, termDescriptions, termNames } from "./mount/terms.js";
export type { Night } from "./night/night.js";
export { readNight } from "./night/night-file.js";
export type { Sighting } from "./night/sighting.js";
export { loadPlots, setDisplay, show, useTheme } from "./notebook/display.js";
export { compareDrift, type DriftCheck } from "./notebook/drift.js";
export { classList, findTargets, goodEnough, planStars } from "./notebook/evening.js";
export type { Moment } from "./notebook/moment.js";
export {
  type AxisReading,
  type OpenNight,
  type OpenOptions,
  openNight,
  type SightAnswer,
  type SightOptions,
} from "./notebook/open-night.js";
export { htmlPage, type PageContent } from "./notebook/page.js";
export * as plots from "./notebook/plots.js";
export { explain, fitMount, jackTurns } from "./notebook/results.js";
export { rounds } from "./notebook/rounds.js";
export type { Figure } from "./plots/figure.js";
export { reportHtml } from "./report/html.js";
export type { Report } from "./report/report.js";
export { reportText } from "./report/text.js";
export type { SimulatedNight, SimulationOptions } from "./simulate/options.js";
export { simulateNight } from "./simulate/simulate-night.js";
export { findStar, suggestStars } from "./sky/find-star.js";
export { observe } from "./sky/observe.js";
export type { Site } from "./sky/site.js";
export type { IcrsPosition, ObservedDirection, Star } from "./sky/star.js";
export { type StarName, starNames } from "./sky/star-names.js";
export { formatTime, parseTime } from "./sky/time.js";
