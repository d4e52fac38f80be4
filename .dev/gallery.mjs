/**
 * Every figure and every page, by day and by night, into out/gallery for looking at: npm run gallery. The nights are those of
 * the invented Nowhere School.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));
const out = join(root, "out", "gallery");
rmSync(out, { recursive: true, force: true });
mkdirSync(out, { recursive: true });
const load = (name) => import(new URL(`../dist/${name}`, import.meta.url));
const [{ readMountFile, readNightFile }, { fitMount }, { jackTurns }, plots, { themes }, { termNames }] =
  await Promise.all([
    load("files/night-folder.js"),
    load("fit/mount-fit.js"),
    load("base/jack-turns.js"),
    load("plots/plots.js"),
    load("words/theme.js"),
    load("mount/terms.js"),
  ]);
const [{ pointingUncertaintyMap }, { questions }, { classPageNames }] = await Promise.all([
  load("exposure/good-enough-map.js"),
  load("answers/list.js"),
  load("page/class-page.js"),
]);

const FIRST = "data/first-light";
const SECOND = "data/after-turning";
const fitIn = (folder) => {
  const mount = readMountFile(join(root, folder, "mount.json"));
  return fitMount(readNightFile(join(root, folder, "night.csv"), mount).night);
};
const [before, after] = [fitIn(FIRST), fitIn(SECOND)];
const turns = jackTurns(before);

const figures = (theme) => ({
  "residual-sky": plots.residualSky(before, theme),
  "residual-angles": plots.residualAngles(before, theme),
  "axis-pointing": plots.axisPointing(before, turns, theme),
  "base-from-above": plots.baseFromAbove(before.mount, turns, theme),
  "before-after": plots.beforeAfter(before, after, theme),
  "axis-walk": plots.axisWalk([before, after], theme),
  "rounds-converging": plots.roundsConverging([before, after], theme),
  "sky-coverage": plots.skyCoverage(before, [], theme),
  "term-correlation": plots.termCorrelation(before, theme),
  "zero-jump": plots.zeroJump(before, theme),
  "pointing-uncertainty": plots.pointingUncertainty(pointingUncertaintyMap(before), theme),
  ...Object.fromEntries(
    termNames
      .map((name) => [`part-${name}`, plots.mountPart(name, before.mount.site, theme)])
      .filter(([, part]) => part !== null),
  ),
  ...Object.fromEntries(
    termNames.map((name) => [`pattern-${name}`, plots.termPattern(name, before.mount.site, theme)]),
  ),
});

const AT = ["--at", "2026-03-14T19:00:00Z"];
const UNTIL = ["--until", "2026-03-14T21:00:00Z"];
const night = `${FIRST}/night.csv`;
const kept = ["march", "april", "june"].map((month) => `data/kept/kept-in-${month}.json`);
const pages = {
  fit: ["fit", night],
  turns: ["turns", night],
  rounds: ["rounds", night, `${SECOND}/night.csv`, "--turned", `${SECOND}/turned.csv`],
  plan: ["plan", "--mount", `${FIRST}/mount.json`, "--from", "2026-03-14T19:00:00Z"],
  find: ["find", night, "M 42", "Jupiter", ...AT],
  class: ["find", night, ...AT, ...UNTIL],
  timetable: ["find", night, ...AT, ...UNTIL, "--minutes-each", "10"],
  exposure: ["exposure", night],
  stack: ["exposure", night, "M 42", ...AT, "--stack", "60", "--pause", "2", "--seconds", "60"],
  tonight: ["tonight", `${SECOND}/night.csv`, "--model", kept[0]],
  drift: ["drift", `${FIRST}/drifts.csv`, "--night", night],
  drive: ["drive", `${FIRST}/track.csv`, "--night", night],
  keep: ["keep", night, "--out", join(out, "kept.json")],
  compare: ["compare", night, `${SECOND}/night.csv`],
  months: ["months", ...kept, "--mount", `${SECOND}/mount.json`],
  procedure: ["procedure", "level"],
  describe: ["describe", "mount"],
  daylight: ["daylight", "--mount", `${FIRST}/mount.json`, "--at", "2026-03-14T10:00:00Z"],
  ...Object.fromEntries(termNames.map((name) => [`explain-${name}`, ["explain", name, "--night", night]])),
};
/** What a command writes by itself: pages with a theme of their own, and pages to print. */
const written = {
  desk: ["desk", night],
  "wrong-telescope": ["wrong-telescope", "--latitude", "-30"],
};
const printed = {
  "jack-sheet": ["turns", night, "--sheet"],
  ...Object.fromEntries(
    classPageNames.map((name) => [name, ["class-page", name, "--latitude", "-30", "--out"]]),
  ),
};
const asked = new Set(
  [pages, written, printed].flatMap((all) => Object.values(all).map(([command]) => command)),
);
const missing = Object.keys(questions).filter((name) => !asked.has(name));
if (missing.length > 0) throw new Error(`The gallery does not show ${missing.join(", ")}.`);

const links = [];
let failed = 0;
const write = (file, args) => {
  // A model is never written over.
  rmSync(join(out, "kept.json"), { force: true });
  const { status, stderr } = spawnSync(process.execPath, ["dist/cli/main.js", ...args], {
    cwd: root,
    encoding: "utf8",
  });
  if (status === 0) links.push(file);
  else {
    failed++;
    console.error(`${file}: ${stderr.trim()}`);
  }
};
for (const [name, args] of Object.entries(printed))
  write(`${name}.html`, [...args, join(out, `${name}.html`)]);
for (const theme of Object.values(themes)) {
  for (const [name, figure] of Object.entries(figures(theme))) {
    const file = `${name}-${theme.name}.svg`;
    writeFileSync(join(out, file), plots.figureSvg(figure, theme));
    links.push(file);
  }
  for (const [option, all] of [
    ["--html", pages],
    ["--out", written],
  ]) {
    for (const [name, args] of Object.entries(all)) {
      const file = `${name}-${theme.name}.html`;
      write(file, [...args, option, join(out, file), "--theme", theme.name]);
    }
  }
}
const items = links.sort().map((file) => `<li><a href="${file}">${file}</a></li>`);
writeFileSync(
  join(out, "index.html"),
  `<!doctype html><html lang="en"><meta charset="utf-8"><title>Figures and pages of Polewright</title><ul>${items.join("")}</ul></html>\n`,
);
console.log(`${links.length} figures and pages in ${join(out, "index.html")}`);
process.exitCode = failed === 0 ? 0 : 1;
