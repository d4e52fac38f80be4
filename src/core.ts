/**
 * Everything that needs no Node.js: what a page in a browser, or any other JavaScript, may import as `polewright/core`.
 */

export { compareModels } from "./answers/compare.js";
export { daylight } from "./answers/daylight.js";
export { compareDrift, type DriftCheck } from "./answers/drift.js";
export { drive } from "./answers/drive.js";
export { explain } from "./answers/explain.js";
export { exposure, goodEnough } from "./answers/exposure.js";
export { classList, findTargets, timetable } from "./answers/find.js";
export { fitMount } from "./answers/fit.js";
export { jackSheet } from "./answers/jack-sheet.js";
export type { Moment } from "./answers/moment.js";
export { months } from "./answers/months.js";
export { planStars } from "./answers/plan.js";
export { procedure } from "./answers/procedure.js";
export { roundsOf as rounds } from "./answers/rounds.js";
export { standingTonight } from "./answers/tonight.js";
export { jackTurns } from "./answers/turns.js";
export type { AltitudeMeans, AzimuthMeans } from "./base/adjusters/adjusters.js";
export type { RoundVerdict } from "./base/another-round.js";
export type { AxisPlace, MovedAxis } from "./base/axis-motion.js";
export type { Gains } from "./base/gains.js";
export { roundVerdict } from "./base/jack-turns.js";
export type { RoundNote, RoundNoteCode } from "./base/round-note.js";
export type {
  LearnedGain,
  PlaceEstimate,
  RoundReport,
  RoundsOptions,
  RoundsResult,
} from "./base/rounds-result.js";
export type {
  AdjusterChoice,
  Aim,
  BaseSlide,
  BoltTurn,
  JackTurn,
  LevelChange,
  LowerBearingMove,
  Move,
  TurnAdvice,
  TurnStep,
} from "./base/turn-advice.js";
export type { TurnOptions } from "./base/turn-question.js";
export { type TurnedRow, turnedFileText, turnedRows } from "./base/turned-file.js";
export {
  type AppliedTurns,
  applyTurns,
  type TurnDirection,
  type TurnMade,
  type TurnsAsked,
} from "./base/turns-made.js";
export type { SkyWay, StarReading, StarShare, UnderStar, UnderStarOptions } from "./base/under-star.js";
export type {
  CompassAnswer,
  Daylight,
  DaylightOptions,
  FirstStars,
  TiltAnswer,
} from "./daylight/daylight.js";
export type { ShadowDay, ShadowMoment } from "./daylight/shadow.js";
export type { DriftComparison, DriftDifference } from "./drift/compare.js";
export type {
  DriftNote,
  DriftNoteCode,
  DriftParts,
  DriftResidual,
  DriftResult,
  DriftTelling,
  DriftWay,
} from "./drift/drift.js";
export type { DriftFields } from "./drift/fields.js";
export type { DriveOptions } from "./drive/drive.js";
export type {
  DrawnCourse,
  DriveBump,
  DriveNote,
  DriveNoteCode,
  DrivePlay,
  DriveRemedy,
  DriveResult,
  NorthDrift,
  PeriodicError,
  RateRemedy,
  WayNoise,
} from "./drive/drive-result.js";
export type { SmearAt, Wave } from "./drive/drive-smear.js";
export type { TrackPoint } from "./drive/drive-track.js";
export type { PeriodogramPoint } from "./drive/periodogram.js";
export { makeTrack, readTrack, type TrackFields } from "./drive/track-file.js";
export { type Fault, InputError, PolewrightError } from "./errors.js";
export type {
  Exposure,
  ExposureEnd,
  ExposureOptions,
  ExposureTarget,
  SmearCauses,
  Trail,
} from "./exposure/exposure.js";
export type {
  FindingVerdict,
  GoodEnough,
  GoodEnoughOptions,
  HoldingFigures,
  HoldingVerdict,
  NextRound,
  Verdict,
} from "./exposure/good-enough.js";
export type { PointingPlace, PointingUncertaintyMap } from "./exposure/good-enough-map.js";
export { exposureStack, type Stack, type StackOptions } from "./exposure/stack.js";
export type { ClassEntry, ClassList, NotShown, WholeList } from "./find/class-list.js";
export type { FieldAnswer, Finding, FindOptions, Found, Refusal } from "./find/find.js";
export type { TargetKind } from "./find/target.js";
export type { Timetable, TimetableEntry, TimetableSlot } from "./find/timetable.js";
export type {
  Estimate,
  MountFit,
  Note,
  NoteCode,
  PoleError,
  Residual,
  Standing,
  StopReason,
  TermEstimate,
} from "./fit/fit-result.js";
export { coefficientsOf, modelOf } from "./fit/fitted-model.js";
export type { FitOptions } from "./fit/mount-fit.js";
export type { SetChoice } from "./fit/sets-in-force.js";
export { checkStar, type StarCheck } from "./keep/check-star.js";
export type {
  ChangeTogether,
  ChangeVerdict,
  ComparedModel,
  Comparison,
  TermChange,
} from "./keep/compare.js";
export {
  type KeptModel,
  type KeptStanding,
  type KeptTerm,
  keepModel,
  keptModelText,
  keptStanding,
  meanTemperature,
  parseKeptModel,
} from "./keep/keep.js";
export type { Agreement, KeptVerdict, TonightStanding } from "./keep/tonight.js";
export type { Months, MonthsNote, TermMonths } from "./months/months.js";
export type { MountModel, Stance } from "./mount/model.js";
export type {
  AxisReadings,
  AzimuthBolts,
  Base,
  Camera,
  CustomTerm,
  Drive,
  Jack,
  Limits,
  LowerBearing,
  Mount,
  ReadingKind,
  Tolerances,
} from "./mount/mount.js";
export { parseMount, parseMountText } from "./mount/mount-file.js";
export {
  type BuiltInTermName,
  type TermDescription,
  type TermName,
  termDescriptions,
  termNames,
} from "./mount/terms.js";
export type { Night } from "./night/night.js";
export { type NightReading, readNight } from "./night/night-file.js";
export type { Side, Sighting } from "./night/sighting.js";
/** Every figure, as plain data for plotly; {@link show} draws it. */
export * as plots from "./notebook/plots.js";
export { type ClassPageName, classPage } from "./page/class-page.js";
export type { WholePage } from "./page/page-text.js";
export type { LeftOut } from "./plan/candidates.js";
export type { SmallestSetting } from "./plan/enough.js";
export type { NextStar } from "./plan/next.js";
export type { LearningGoal, PlanOptions } from "./plan/options.js";
export type { AxisUncertainty, Plan, PlannedStar } from "./plan/plan.js";
export type { Approach } from "./plan/play-plan.js";
export type { Figure, Json, Motion } from "./plots/figure.js";
export type { SvgOptions } from "./plots/svg.js";
export type { AxisMove, PresentReadings } from "./pointing/axis-move.js";
export { fieldOfCamera, fieldOfEyepiece, type ImageField, type SmearUnit } from "./pointing/field.js";
export type { SkyPoint } from "./pointing/field-sky.js";
export type { AnyStand, MountStand, TrackingSite } from "./pointing/field-stand.js";
export type { Guidance, GuidanceCode } from "./pointing/guidance.js";
export type { KnownTerm, MountStanding, PredictedReadings } from "./pointing/known-mount.js";
export type { Followed, ProcedurePicture, ProcedureResult } from "./procedures/procedure.js";
export { type HtmlOptions, reportHtml } from "./report/html.js";
export type { Block, Report, TableBlock } from "./report/report.js";
export { reportText, type TextOptions } from "./report/text.js";
export {
  type Mystery,
  type MysteryGuess,
  type MysteryLevel,
  type MysteryOptions,
  type MysteryScore,
  type MysteryStar,
  mystery,
} from "./simulate/mystery.js";
export type {
  AxisPair,
  Disturbance,
  SimulatedFault,
  SimulatedNight,
  SimulatedTarget,
  SimulatedTruth,
  SimulationOptions,
  TrueSighting,
} from "./simulate/options.js";
export { simulateNight } from "./simulate/simulate-night.js";
export { findStar, suggestStars } from "./sky/find-star.js";
export { observe } from "./sky/observe.js";
export type { Air, Site } from "./sky/site.js";
export type { IcrsPosition, ObservedDirection, Star } from "./sky/star.js";
export { type StarName, starNames } from "./sky/star-names.js";
export { formatTime, parseTime } from "./sky/time.js";
export type { Theme, ThemeColours } from "./words/theme.js";
