/** Draws the README's pictures from the demonstration night: node .dev/make-pictures.mjs (after a build). */
import { mkdirSync, writeFileSync } from "node:fs";

const dist = new URL("../dist/", import.meta.url);
const load = (name) => import(new URL(name, dist));
const [{ readMountFile, readNightFile }, { fitMount }, { jackTurns }, figures, { lightTheme, nightTheme }] =
  await Promise.all([
    load("files/night-folder.js"),
    load("fit/mount-fit.js"),
    load("base/jack-turns.js"),
    load("plots/plots.js"),
    load("words/theme.js"),
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
draw("base-from-above", figures.baseFromAbove(mount, turns), lightTheme);
draw("residual-sky-night", figures.residualSky(fit, nightTheme), nightTheme);
