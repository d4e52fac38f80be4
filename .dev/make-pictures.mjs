/**
 * Draws the README's pictures from the demonstration nights: node .dev/make-pictures.mjs (after a build). Those of whole
 * pages are taken in a Chromium without a screen (CHROMIUM, else Debian's).
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

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
draw("residual-sky-night", figures.residualSky(fit, nightTheme), nightTheme);

/** Each page: what writes it, how it is looked at, and what is done there first. */
const EVENING = "2026-03-21T19:30:00Z";
const pages = [
  {
    name: "jack-sheet",
    args: (file) => ["turns", "data/first-light/night.csv", "--sheet", file],
    size: { width: 720, height: 1040 },
  },
  {
    name: "desk",
    args: (file) => ["desk", "data/after-turning/night.csv", "--out", file],
    size: { width: 1000, height: 740 },
    first: async (page) => {
      await page.fill("#search", "M 104");
      await page.keyboard.press("Enter");
      await page.fill("#search", "");
      await page.locator("#search").blur();
    },
  },
  {
    name: "wrong-telescope",
    args: (file) => ["wrong-telescope", "--out", file],
    size: { width: 940, height: 680 },
    first: async (page) => {
      for (const [label, presses] of [
        ["Polar axis east error", 40],
        ["Tube sag", 25],
      ]) {
        const slider = page.getByLabel(label);
        await slider.focus();
        for (let k = 0; k < presses; k++) await page.keyboard.press("ArrowRight");
      }
      await page.evaluate(() => window.scrollTo(0, 0));
    },
  },
];
const work = mkdtempSync(join(tmpdir(), "polewright-pictures-"));
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
  ],
});
try {
  for (const { name, args, size, first } of pages) {
    const file = join(work, `${name}.html`);
    const { status, stderr } = spawnSync(process.execPath, ["dist/cli/main.js", ...args(file)], {
      cwd: new URL("..", import.meta.url),
      encoding: "utf8",
    });
    if (status !== 0) throw new Error(stderr);
    const page = await browser.newPage({ viewport: size });
    await page.clock.setFixedTime(new Date(EVENING));
    await page.goto(`file://${file}`);
    await first?.(page);
    await page.waitForTimeout(500);
    await page.screenshot({ path: new URL(`${name}.png`, out).pathname });
    await page.close();
  }
} finally {
  await browser.close();
  rmSync(work, { recursive: true, force: true });
}
