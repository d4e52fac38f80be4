/** Every option that a question declares changes its answer: none is taken and then ignored. */
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { questions } from "../../src/answers/list.js";
import { diskReading } from "../../src/cli/reading.js";
import { BUILD_TIMEOUT_MS, built, packageFolder } from "../support/built.js";

type Values = Readonly<Record<string, unknown>>;

const world = mkdtempSync(join(tmpdir(), "polewright-options-"));
const inWorld = (name: string): string => join(world, name);
const night = inWorld("first-light/night.csv");
const kept = inWorld("kept/kept-in-march.json");
const otherKept = inWorld("kept/kept-in-june.json");
const mount = inWorld("other-mount.json");
const onNight: Values = {
  mount,
  terms: "hourAngleZero,declinationZero,polarAltitude",
  asEntered: true,
  trustClock: true,
};
/** A night after which there is still something to turn. */
const unturned: Values = { nights: [night], turned: inWorld("nothing.csv") };
/** A clock that was wrong all night: to trust it all the same must change what is found. */
const wrongClock = inWorld("first-light/wrong-clock.csv");
const turning: Values = {
  azimuthBy: "lowerBearing",
  altitudeBy: "lowerBearing",
  aim: "refracted",
  why: true,
};
const AT = "2026-03-14T19:00:00Z";
const LATER = "2026-03-14T20:00:00Z";
const UNTIL = "2026-03-14T21:00:00Z";

/** What each question is asked, and each of its options with what must stand beside it. */
const asked: Readonly<
  Record<
    string,
    { readonly base: Values; readonly options: Values; readonly beside?: Record<string, Values> }
  >
> = {
  fit: { base: { night }, options: onNight },
  turns: {
    base: { night },
    options: {
      ...onNight,
      ...turning,
      brief: true,
      at: UNTIL,
      turned: inWorld("turned.csv"),
      sheet: inWorld("sheet.html"),
    },
  },
  rounds: {
    base: {
      nights: [night, inWorld("after-turning/night.csv")],
      turned: inWorld("after-turning/turned.csv"),
    },
    options: { ...onNight, ...turning, at: "2026-03-22T02:00:00Z", turned: inWorld("turned.csv") },
    beside: { why: unturned, at: { ...unturned, at: "2026-03-14T22:00:00Z" } },
  },
  plan: {
    base: { mount: inWorld("first-light/mount.json"), from: AT },
    options: {
      mount,
      from: LATER,
      stars: 3,
      night,
      model: kept,
      toLearn: "cone",
      minutes: 20,
      faintest: 0.5,
      teach: true,
      daylight: true,
    },
    beside: { model: { night }, daylight: { from: "2026-03-14T12:00:00Z" } },
  },
  tonight: {
    base: { night, model: kept },
    options: { mount, model: otherKept },
  },
  find: {
    base: { night, targets: ["Sirius", "Polaris"], at: AT },
    options: {
      mount,
      at: LATER,
      until: UNTIL,
      model: kept,
      csv: inWorld("list.csv"),
      minutesEach: 20,
      now: "100,200",
      daylight: true,
    },
    beside: {
      csv: { until: UNTIL },
      minutesEach: { until: UNTIL },
      daylight: { at: "2026-03-14T12:00:00Z" },
    },
  },
  drift: {
    base: { drifts: inWorld("first-light/drifts.csv") },
    options: { night, ...onNight },
    beside: { terms: { night }, asEntered: { night }, trustClock: { night } },
  },
  drive: {
    base: { track: inWorld("first-light/track.csv") },
    options: { mount, night, model: kept, smear: 30 },
  },
  exposure: {
    base: { night, targets: ["Sirius"], at: AT },
    options: {
      ...onNight,
      at: LATER,
      seconds: 7,
      smear: 9,
      seeing: 9,
      track: inWorld("first-light/track.csv"),
      stack: 20,
      pause: 50,
      readNoise: 3,
      sky: 1,
      field: 2,
      guided: true,
    },
    beside: { pause: { stack: 20 }, readNoise: { stack: 20, sky: 2 }, sky: { stack: 20, readNoise: 3 } },
  },
  keep: { base: { night, out: "kept.json" }, options: { ...onNight, out: "other.json", note: "a word" } },
  compare: {
    base: { older: night, newer: inWorld("after-turning/night.csv") },
    options: onNight,
  },
  months: {
    base: {
      kept: ["march", "april", "june"].map((month) => inWorld(`kept/kept-in-${month}.json`)),
      mount: inWorld("first-light/mount.json"),
    },
    options: { mount },
  },
  daylight: {
    base: { mount: inWorld("first-light/mount.json"), at: AT },
    options: { mount, at: "2026-06-14T09:00:00Z", tilt: 20, finder: 2, why: true },
    beside: { why: { tilt: 20 } },
  },
  desk: { base: { night, out: "desk.html" }, options: { mount, model: kept, out: "other.html" } },
  "wrong-telescope": { base: { out: "page.html" }, options: { latitude: 48, out: "other.html" } },
  "class-page": {
    base: { name: "poster", latitude: 48, out: "page.html" },
    options: { latitude: -30, out: "other.html" },
  },
  procedure: {
    base: {
      words: ["backlash", "plus=3121,3122,3121", "minus=3118,3119,3118"],
      mount: inWorld("first-light/mount.json"),
    },
    options: { mount: inWorld("fine-mount.json") },
  },
  explain: {
    base: { term: "cone" },
    options: { night, ...onNight },
    beside: { mount: { night }, terms: { night }, asEntered: { night }, trustClock: { night } },
  },
  describe: { base: { file: "mount" }, options: {} },
};

beforeAll(async () => {
  await built("cli/main.js");
  for (const name of ["first-light", "after-turning", "kept"])
    cpSync(join(packageFolder, "data", name), inWorld(name), { recursive: true });
  // A star that is not the one sighted: to doubt nothing must change what is found.
  const rows = readFileSync(night, "utf8").replace("Sirius", "Canopus");
  writeFileSync(night, rows);
  const file = JSON.parse(readFileSync(inWorld("first-light/mount.json"), "utf8"));
  const other = { ...file, site: { ...file.site, latitude: file.site.latitude + 0.2 }, centringArcmin: 3 };
  writeFileSync(mount, JSON.stringify({ ...other, name: "Another" }));
  const late = rows.replace(
    /^(20\d\d-[^,]+)/gm,
    (time) => `${new Date(Date.parse(time) + 3_600_000).toISOString().slice(0, 19)}Z`,
  );
  writeFileSync(wrongClock, late);
  file.readings.declination.perTurn *= 2;
  file.readings.hourAngle.perTurn *= 2;
  writeFileSync(inWorld("fine-mount.json"), JSON.stringify(file));
  writeFileSync(inWorld("nothing.csv"), "round,adjuster,turns,direction\n");
  writeFileSync(inWorld("turned.csv"), "round,adjuster,turns,direction\n1,north-west,1/4,clockwise\n");
}, BUILD_TIMEOUT_MS);
afterAll(() => rmSync(world, { recursive: true, force: true }));

/** All that an answer says and writes; a refusal is an answer too. */
async function answered(name: string, values: Values): Promise<string> {
  const question = await questions[name]!();
  const flags = Object.entries(question.takes)
    .filter(([, take]) => take.as === "option" && take.value === null)
    .map(([key]) => [key, false]);
  const places = Object.entries(question.takes)
    .filter(([, take]) => take.as === "places")
    .map(([key]) => [key, []]);
  try {
    const told = await question.answer(
      { ...Object.fromEntries([...flags, ...places]), ...values },
      diskReading("light"),
    );
    const { json, reports } = told;
    const writes = told.writes.map(({ path, text }) => ({
      path,
      text: typeof text === "string" ? text : "",
    }));
    return JSON.stringify({ json, reports, writes });
  } catch (problem) {
    return `refused: ${(problem as Error).message}`;
  }
}

/** The night of a question exchanged for the one with the wrong clock. */
function clockIn(base: Values): Values {
  if ("nights" in base) return { nights: [wrongClock, inWorld("after-turning/night.csv")] };
  return "older" in base ? { older: wrongClock } : { night: wrongClock };
}

describe.each(Object.entries(asked))("%s", (name, { base, options, beside = {} }) => {
  it("tries every option that is declared", async () => {
    const { takes } = await questions[name]!();
    const declared = Object.keys(takes).filter((key) => takes[key]!.as === "option");
    expect(Object.keys(options).sort()).toEqual(declared.sort());
  });

  // A night with a wrong clock is kept neither way; that `keep` reads its fit's options shows with the others.
  const tried = Object.keys(options).filter((key) => !(name === "keep" && key === "trustClock"));
  it.each(tried)("%s changes the answer", { timeout: 60_000 }, async (key) => {
    const more = { ...beside[key], ...(key === "trustClock" ? clockIn(base) : {}) };
    const without = await answered(name, { ...base, ...more });
    const given = await answered(name, { ...base, ...more, [key]: options[key] });
    // An option may be what makes an answer possible; but a question that is refused either way tests nothing.
    expect([without, given].every((one) => one.startsWith("refused: "))).toBe(false);
    expect(given).not.toBe(without);
  });
});

it("asks every question", () => {
  expect(Object.keys(asked)).toEqual(Object.keys(questions));
});
