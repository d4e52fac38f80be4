/**
 * Polewright: from star sightings to levelling-jack turns. What needs no Node.js is in core.ts; what stands here besides
 * reads files or shows things in a notebook.
 */

export * from "./core.js";
export { desk } from "./notebook/desk.js";
export {
  type HtmlDisplay,
  loadPlots,
  type MimeBundle,
  type ShowBundle,
  setDisplay,
  show,
  useTheme,
} from "./notebook/display.js";
export { openModel, openTrack } from "./notebook/open-files.js";
export {
  type AxisReading,
  type OpenNight,
  type OpenOptions,
  openNight,
  type SightAnswer,
  type SightOptions,
} from "./notebook/open-night.js";
export { htmlPage, type PageContent } from "./notebook/page.js";
export { rounds } from "./notebook/rounds.js";
export { mystery, wrongTelescope } from "./notebook/wrong-telescope.js";
