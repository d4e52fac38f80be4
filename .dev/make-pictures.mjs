/**
 * Draws the README's pictures from the demonstration night: node .dev/make-pictures.mjs (after a build). Pages are taken with
 * Chromium, where it is installed (CHROMIUM names it).
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { chromium } from "playwright-core";
import { FLAGS, PROGRAM } from "./chromium.mjs";

const dist = new URL("../dist/", import.meta.url);
const load = (name) => import(new URL(name, dist));
const [
  { readMountFile, readNightFile },
  { fitMount },
  { jackTurns },
  figures,
  { lightTheme, nightTheme },
  library,
] = await Promise.all([
  load("files/night-folder.js"),
  load("fit/mount-fit.js"),
  load("base/jack-turns.js"),
  load("plots/plots.js"),
  load("words/theme.js"),
  load("index.js"),
]);

const folder = new URL("../data/first-light/", import.meta.url).pathname;
const mount = readMountFile(`${folder}mount.json`);
const fit = fitMount(readNightFile(`${folder}night.csv`, mount).night);
const turns = jackTurns(fit);
const out = new URL("../notebooks/pictures/", import.meta.url);
mkdirSync(out, { recursive: true });
const draw = (name, figure, theme) =>
  writeFileSync(new URL(`${name}.svg`, out), figures.figureSvg(figure, theme, { withTitle: true }));
draw("residual-sky", figures.residualSky(fit), lightTheme);
draw("axis-pointing", figures.axisPointing(fit, turns), lightTheme);
draw("residual-sky-night", figures.residualSky(fit, nightTheme), nightTheme);

/** An hour after the last sighting of the demonstration: the desk's clock stands there, so that the picture is always the same. */
const DESK_TIME = new Date("2026-03-14T19:30:00Z");
const SLIDERS = { polarEast: 30, tubeSag: 20 };
const browser = await chromium.launch({ executablePath: PROGRAM, args: FLAGS });
async function take(name, page, [width, height], prepare = async () => {}) {
  const view = await browser.newPage({ viewport: { width, height } });
  await view.clock.setFixedTime(DESK_TIME);
  await view.setContent(page.html);
  await prepare(view);
  await view.waitForTimeout(500);
  await view.screenshot({ path: new URL(`${name}.png`, out).pathname });
  await view.close();
}
await take("jack-sheet", library.jackSheet(library.jackTurns(fit)), [794, 1000]);
await take("desk", library.desk(fit), [1000, 760]);
await take("wrong-telescope", library.wrongTelescope({ latitude: -30 }), [1000, 760], async (view) => {
  for (const [name, value] of Object.entries(SLIDERS))
    await view.locator(`#error-${name}`).evaluate((slider, to) => {
      slider.value = String(to);
      slider.dispatchEvent(new Event("input"));
    }, value);
});
await browser.close();
