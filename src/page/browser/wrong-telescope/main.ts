/** The wrong telescope: errors given by sliders, arrows on the sky, a mount that leans with them, and a riddle. */
import { DEGREE, HOUR } from "../../../angles.js";
import { InputError } from "../../../errors.js";
import { EXAGGERATION, Telescope } from "../../../plots/wrong-telescope.js";
import { type Mystery, type MysteryLevel, mystery } from "../../../simulate/mystery.js";
import type { Vector } from "../../../vectors.js";
import { fixed } from "../../../words/numbers.js";
import { pageData, part, say } from "../shared/dom.js";
import { themeButtons } from "../shared/theme-buttons.js";
import { ErrorControls } from "./errors.js";
import { MountDrawing } from "./mount-drawing.js";
import { SkyDrawing } from "./sky-drawing.js";

/** A summary is said when the hand has rested so long. */
const REST_MS = 500;

const data = pageData<{ readonly latitude: number }>("page-data");
const slider = (id: string): HTMLInputElement => part<HTMLInputElement>(id);
const [latitude, hourAngle, declination] = [slider("latitude"), slider("hour-angle"), slider("declination")];
latitude.value = String(Math.round(data.latitude));
const sky = new SkyDrawing(document.querySelector<SVGSVGElement>("svg#sky")!);
const mount = new MountDrawing(document.querySelector<SVGSVGElement>("svg#mount")!);
const controls = new ErrorControls(part("errors"), part("more-errors"), later);
let riddle: Mystery | null = null;
let frame = 0;
let resting = 0;

/** Draws at the next picture of the screen, however many changes come before it. */
function later(): void {
  if (frame === 0) frame = requestAnimationFrame(show);
}

function show(): void {
  frame = 0;
  performance.mark("drawing");
  const phi = Number(latitude.value) * DEGREE;
  const turned = {
    hourAngle: Number(hourAngle.value) * HOUR,
    declination: Number(declination.value) * DEGREE,
  };
  const telescope = new Telescope(phi, controls.values);
  if (riddle !== null) sky.showRiddle(riddle.stars, riddle.latitude * DEGREE);
  const summary = sky.show(telescope, turned);
  mount.show(telescope, turned);
  say(part("latitude-text"), placeText(Number(latitude.value)));
  say(
    part("hour-angle-text"),
    `${fixed(Math.abs(Number(hourAngle.value)), 2)} h ${Number(hourAngle.value) < 0 ? "east" : "west"}`,
  );
  say(part("declination-text"), placeText(Number(declination.value)));
  clearTimeout(resting);
  resting = window.setTimeout(
    () => say(part("said"), summaryText(summary.mean, summary.worst, summary.worstAt)),
    REST_MS,
  );
  performance.measure("drawn", "drawing");
}

function placeText(degrees: number): string {
  return degrees === 0 ? "0°" : `${Math.abs(degrees)}° ${degrees < 0 ? "south" : "north"}`;
}

const WAYS = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];

function summaryText(mean: number, worst: number, [east, north, up]: Vector): string {
  if (worst < 0.5) return "The telescope looks where its dials say, all over the sky.";
  const way = WAYS[(Math.round(Math.atan2(east, north) / (Math.PI / 4)) + 8) % 8];
  const height = (Math.atan2(up, Math.hypot(east, north)) * 180) / Math.PI;
  return `The telescope looks ${fixed(mean, 0)}′ beside its dials on average; worst, ${fixed(worst, 0)}′, ${height > 60 ? "high" : height > 30 ? "half up" : "low"} in the ${way}.`;
}

function begin(): void {
  const said = part("riddle-said");
  const level = Number(
    document.querySelector<HTMLInputElement>("input[name=level]:checked")?.value ?? 1,
  ) as MysteryLevel;
  try {
    riddle = mystery(slider("password").value, { level, latitude: Number(latitude.value) });
  } catch (problem) {
    if (!(problem instanceof InputError)) throw problem;
    say(said, problem.faults.map(({ message, allowed }) => `${message} Allowed: ${allowed}.`).join(" "));
    return;
  }
  controls.clear();
  part("riddle").hidden = false;
  part("fault-field").hidden = level < 3;
  say(
    part("fault-label"),
    level === 3 ? "Number of the wrong star" : "Number of the first star after the slip",
  );
  slider("fault").value = "";
  say(said, `${riddle.stars.length} stars were sighted. Find the ${level === 1 ? "error" : "errors"}.`);
  later();
}

function guess(): void {
  if (riddle === null) return;
  const number = Number.parseInt(slider("fault").value, 10);
  const fault = Number.isFinite(number)
    ? riddle.level === 3
      ? { wrongStar: number }
      : { slippedFrom: number }
    : {};
  say(part("riddle-said"), riddle.guess({ terms: Object.fromEntries(controls.values), ...fault }).said);
}

function end(): void {
  riddle = null;
  sky.showRiddle([], 0);
  later();
  part("riddle").hidden = true;
  say(part("riddle-said"), "");
}

themeButtons();
say(
  part("legend"),
  `Each arrow runs from a star, where the telescope really looks, to where its dials say. Arrows are drawn ${EXAGGERATION} times too long. The cross is the pole. The ring is where the dials point now.`,
);
sky.seenFromInside(true);
for (const id of ["inside", "outside"])
  part(id).addEventListener("change", () => {
    sky.seenFromInside(slider("inside").checked);
    later();
  });
for (const one of [latitude, hourAngle, declination]) one.addEventListener("input", later);
latitude.addEventListener("change", () => {
  if (riddle !== null) begin();
});
part("right-again").addEventListener("click", () => controls.clear());
part("riddle-form").addEventListener("submit", (event) => {
  event.preventDefault();
  begin();
});
part("guess").addEventListener("click", guess);
part("hint").addEventListener("click", () => say(part("riddle-said"), riddle?.hint() ?? ""));
part("end").addEventListener("click", end);
show();
