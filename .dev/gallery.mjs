/**
 * Every figure and every page, by day and by night, into out/gallery for looking at: npm run gallery. The nights are those of
 * the invented Ridge School.
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
const [{ pointingUncertaintyMap }] = await Promise.all([load("exposure/good-enough-map.js")]);

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
const pages = {
  fit: ["fit", night],
  turns: ["turns", night],
  rounds: ["rounds", night, `${SECOND}/night.csv`, "--turned", `${SECOND}/turned.csv`],
  plan: ["plan", "--mount", `${FIRST}/mount.json`, "--from", "2026-03-14T19:00:00Z"],
  find: ["find", night, "M 42", "Jupiter", ...AT],
  class: ["find", night, ...AT, ...UNTIL],
  timetable: ["find", night, ...AT, ...UNTIL, "--minutes-each", "10"],
  exposure: ["exposure", night],
  daylight: ["daylight", "--mount", `${FIRST}/mount.json`, "--at", "2026-03-14T10:00:00Z"],
  explain: ["explain", "tubeSag", "--night", night],
};

const links = [];
let failed = 0;
for (const theme of Object.values(themes)) {
  for (const [name, figure] of Object.entries(figures(theme))) {
    const file = `${name}-${theme.name}.svg`;
    writeFileSync(join(out, file), plots.figureSvg(figure, theme));
    links.push(file);
  }
  for (const [name, args] of Object.entries(pages)) {
    const file = `${name}-${theme.name}.html`;
    const { status, stderr } = spawnSync(
      process.execPath,
      ["dist/cli/main.js", ...args, "--html", join(out, file), "--theme", theme.name],
      { cwd: root, encoding: "utf8" },
    );
    if (status !== 0) {
      failed++;
      console.error(`${file}: ${stderr.trim()}`);
    } else links.push(file);
  }
}
const items = links.sort().map((file) => `<li><a href="${file}">${file}</a></li>`);
writeFileSync(
  join(out, "index.html"),
  `<!doctype html><html lang="en"><meta charset="utf-8"><title>Figures and pages of Polewright</title><ul>${items.join("")}</ul></html>\n`,
);
console.log(`${links.length} figures and pages in ${join(out, "index.html")}`);
process.exitCode = failed === 0 ? 0 : 1;
