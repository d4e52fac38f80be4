/** Puts every name of the API reference under the work that it is for, by the room of the source that it stands in. */
import { Comment, CommentTag, Converter, ReflectionKind } from "typedoc";

/** The category of the pages that are no names. */
export const MAIN_PAGES = "0. To read";

const works = {
  night: "1. Sightings",
  fit: "2. How the mount stands",
  mount: "2. How the mount stands",
  base: "3. Turning the base",
  plan: "4. Before and between the sightings",
  daylight: "4. Before and between the sightings",
  procedures: "4. Before and between the sightings",
  find: "5. Finding objects",
  pointing: "5. Finding objects",
  drift: "6. Following",
  drive: "6. Following",
  exposure: "6. Following",
  keep: "7. Other nights",
  months: "7. Other nights",
  page: "8. For a class",
  simulate: "8. For a class",
  notebook: "9. Showing and writing",
  plots: "9. Showing and writing",
  report: "9. Showing and writing",
  words: "9. Showing and writing",
  sky: "The sky",
};
/** Questions stand together in one room of the source; each belongs to its work. */
const questions = {
  fit: "fit",
  turns: "base",
  rounds: "base",
  "jack-sheet": "base",
  plan: "plan",
  daylight: "plan",
  procedure: "plan",
  find: "find",
  drift: "drift",
  drive: "drift",
  exposure: "drift",
  keep: "keep",
  compare: "keep",
  tonight: "keep",
  months: "keep",
  explain: "page",
};
const OPENING = {
  "open-night": "night",
  "open-files": "night",
  desk: "find",
  rounds: "base",
  "wrong-telescope": "page",
};

export function load(app) {
  app.converter.on(Converter.EVENT_CREATE_DECLARATION, (context, reflection) => {
    if (!reflection.parent?.kindOf(ReflectionKind.Project)) return;
    const path = context.project.getSymbolIdFromReflection(reflection)?.fileName ?? "";
    const [, room, file] = /src\/([^/]+)\/(?:.*\/)?([^/]+)\.ts$/.exec(path) ?? [];
    const own = room === "answers" ? questions[file] : room === "notebook" ? (OPENING[file] ?? room) : room;
    reflection.comment ??= new Comment();
    reflection.comment.blockTags.push(
      new CommentTag("@category", [{ kind: "text", text: works[own] ?? "Faults, times and other things" }]),
    );
  });
}
