/** The desk page: see design of its parts in the files beside this one. */
import { InputError } from "../../../errors.js";
import { type Target, targetNamed } from "../../../find/target.js";
import { LOOK_AHEAD_MS, standsTonight, tonightTargets } from "../../../find/tonight-list.js";
import { type KnownMount, knownMount, unsightedMount, zerosNote } from "../../../pointing/known-mount.js";
import { SUN_CAUTION, sunWatch } from "../../../pointing/sun-safety.js";
import { skyOverNight } from "../../../sky/sky-over-night.js";
import { noteText } from "../../../words/notes.js";
import type { DeskData } from "../../desk-data.js";
import { make, pageData, part, say } from "../shared/dom.js";
import { giveTrees } from "../shared/expression-parser.js";
import { memoryWorks } from "../shared/memory.js";
import { themeButtons } from "../shared/theme-buttons.js";
import { DeskClock } from "./clock.js";
import { type Listed, listed, ObjectList } from "./objects.js";
import { Readings } from "./readings.js";
import { SightingDesk } from "./sightings.js";
import { DeskMemory } from "./state.js";

const SECOND_MS = 1000;
const MINUTE_MS = 60 * SECOND_MS;
/** So often the list is looked through again. */
const LIST_EVERY_MS = 5 * MINUTE_MS;
/** The list is looked through in slices, so that the seconds go on; so long is one. */
const SLICE_MS = 12;

const data = pageData<DeskData>("desk-data");
const { mount } = data;
giveTrees(data.expressions);
const memory = new DeskMemory(mount.name);
memory.works = memoryWorks;
const clock = new DeskClock(memory, mount.site.timeZone ?? undefined);
const sky = skyOverNight(clock.now(), clock.now() + LOOK_AHEAD_MS, mount.site);
const readings = new Readings(mount, sky, memory, clock);
const sightings = new SightingDesk(mount, data.standing, memory, clock, () => zerosChanged());
const objects = tonightTargets().map((target) => listed(target, clock.now()));
const list = new ObjectList(objects, memory, clock, choose);
let known = knownNow();

function knownNow(): KnownMount {
  const { standing } = sightings.zeros;
  return standing === null ? unsightedMount(mount) : knownMount({ ...standing, mount });
}

function zerosChanged(): void {
  known = knownNow();
  showNotices();
  showReadings();
}

function daylight(): boolean {
  return part<HTMLInputElement>("daylight").checked;
}

function showReadings(): void {
  readings.show(known, daylight());
}

function choose(target: Target, byHand = true): void {
  readings.choose(target);
  memory.change({ chosen: target.label });
  sightings.offer(target);
  readings.stays(standOf()(target));
  showReadings();
  say(part("status"), `${target.label} is chosen.`);
  const radio = [...document.querySelectorAll<HTMLInputElement>("input[name=object]")].find(
    ({ id }) => document.querySelector(`label[for="${id}"] strong`)?.textContent === target.label,
  );
  if (radio !== undefined) radio.checked = true;
  const panel = part("chosen").getBoundingClientRect();
  if (byHand && (panel.top < 0 || panel.top > innerHeight / 2))
    part("chosen").scrollIntoView({ block: "start" });
}

function standOf(): ReturnType<typeof standsTonight> {
  return standsTonight(known, sky, clock.now(), daylight());
}

/** The object that was chosen last, else the highest of those with a name of their own. */
function firstTarget(): Target {
  const { chosen } = memory.now;
  const kept = objects.find(({ target }) => target.label === chosen);
  if (kept !== undefined) return kept.target;
  if (chosen !== null) {
    try {
      return targetNamed(chosen);
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
    }
  }
  const frame = sky.at(clock.now());
  const deepSky = objects.filter(({ target }) => target.kind === "deep sky" && target.label.includes("("));
  const height = ({ target }: Listed): number => target.observe(frame).altitude;
  return deepSky.reduce((best, one) => (height(one) > height(best) ? one : best)).target;
}

function showNotices(): void {
  const notices: HTMLElement[] = [];
  const sun = sunWatch(clock.now(), mount.site);
  if (sun.up)
    notices.push(make("p", { class: "caution" }, make("strong", {}, "The Sun is up. "), SUN_CAUTION));
  for (const caution of known.cautions)
    notices.push(make("p", { class: "verdict" }, `Not known yet. ${noteText(caution)}`));
  for (const note of zerosNote(known)) notices.push(make("p", { class: "caution" }, noteText(note)));
  for (const { message, remedy } of data.notes) {
    notices.push(make("p", { class: "caution" }, `${sentence(message)} ${sentence(remedy)}`));
  }
  const texts = notices.map(({ textContent }) => textContent).join("\n");
  const place = part("notices");
  if (place.dataset.texts === texts) return;
  place.dataset.texts = texts;
  place.replaceChildren(...notices);
}

function sentence(text: string): string {
  const trimmed = text.trim();
  return trimmed === ""
    ? ""
    : `${trimmed[0]!.toUpperCase()}${trimmed.slice(1)}${/[.!?]$/.test(trimmed) ? "" : "."}`;
}

/** Looks the list through, a slice at a time, and draws it when all is known. */
function lookThrough(): void {
  const stand = standOf();
  let next = 0;
  const slice = (): void => {
    const end = performance.now() + SLICE_MS;
    while (next < objects.length && performance.now() < end) {
      const one = objects[next++]!;
      one.stand = stand(one.target);
    }
    if (next < objects.length) setTimeout(slice);
    else list.draw();
  };
  slice();
}

function everySecond(): void {
  clock.show();
  showReadings();
  // At the beginning of the next second of the clock, whatever this one took.
  setTimeout(everySecond, SECOND_MS - (clock.now() % SECOND_MS) + 5);
}

function everyMinute(): void {
  showNotices();
  if (readings.chosen !== null) readings.stays(standOf()(readings.chosen));
}

say(part("name"), mount.name);
say(part("made"), `${data.from} The page needs no network.`);
themeButtons();
clock.start();
readings.start();
const first = firstTarget();
readings.choose(first);
showNotices();
showReadings();
performance.mark("first-readings");
sightings.start();
sightings.offer(first);
memory.change({ chosen: first.label });
list.start();
part("daylight").addEventListener("change", () => {
  everyMinute();
  showReadings();
  lookThrough();
});
memory.onChange(showReadings);
everySecond();
setTimeout(() => {
  everyMinute();
  showReadings();
  lookThrough();
});
setInterval(everyMinute, MINUTE_MS);
setInterval(lookThrough, LIST_EVERY_MS);
