/** Reports and pages as a browser shows them: without a fault of access, dark at night at every moment, day ink on paper. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { type MimeBundle, setDisplay, show, useTheme } from "../../src/notebook/display.js";
import { htmlPage } from "../../src/notebook/page.js";
import { chooseTheme } from "../../src/notebook/theme.js";
import { jackSheet } from "../../src/page/jack-sheet.js";
import { fitReport } from "../../src/report/fit-report.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { lightTheme, nightTheme, type Theme } from "../../src/words/theme.js";
import { nowhereFigures } from "../support/figures.js";
import { nowhereAdvice, nowhereFit, nowhereMount } from "../support/fit-fixture.js";
import { Browser, brightest } from "./browser.js";

/** axe-core (MPL-2.0): the rules of WCAG 2.2 A and AA, and its own best practice. */
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
/** As bright as green and blue may be at night, of 255. */
const DARK = 60;

const fit = nowhereFit();
const figures = Object.values(nowhereFigures());
const reports = [turnsReport(nowhereAdvice(), fit), fitReport(fit)];
const pageIn = (theme: Theme): string =>
  htmlPage({ title: reports[0]!.title, reports, figures, theme, live: false });

let browser: Browser;
beforeAll(async () => {
  browser = await Browser.open();
});
afterAll(async () => {
  await browser.close();
});

describe.each([
  ["by day", lightTheme],
  ["at night", nightTheme],
] as const)("a page %s", (_, theme) => {
  test.each([1400, 390])("axe finds no fault, and its title stands once, at %i pixels", async (width) => {
    const { page } = await browser.show(pageIn(theme), width);
    await page.addScriptTag({ content: axe });
    const faults = await page.evaluate(async () => {
      const { axe: checker } = window as unknown as {
        axe: {
          run(): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }>;
        };
      };
      const { violations } = await checker.run();
      return violations.map(
        ({ id, nodes }) => `${id}: ${nodes[0]!.html.slice(0, 120)} ${nodes[0]!.failureSummary}`,
      );
    });
    expect(faults).toEqual([]);
    expect(
      await page.$$eval(
        "h1,h2",
        (all) => all.filter((one) => one.textContent === all[0]!.textContent).length,
      ),
    ).toBe(1);
    await page.close();
  });
});

test("a night page prints as the day page does", async () => {
  const inks: { red: number; green: number; blue: number }[] = [];
  for (const theme of [lightTheme, nightTheme]) {
    const { page } = await browser.show(pageIn(theme), 700);
    await page.emulateMedia({ media: "print" });
    await page.waitForTimeout(300);
    const corner = await page.screenshot({ clip: { x: 0, y: 0, width: 12, height: 12 } });
    inks.push(brightest(corner));
    expect(await page.$eval("h1", (one) => getComputedStyle(one).color)).toBe("rgb(26, 26, 26)");
    const stills = await page.$$eval(".polewright-still img", (all) =>
      all.map((one) => getComputedStyle(one).content),
    );
    if (theme === nightTheme)
      for (const content of stills) expect(content).toContain(encodeURIComponent(lightTheme.colours.page));
    await page.close();
  }
  expect(inks).toEqual([
    { red: 255, green: 255, blue: 255 },
    { red: 255, green: 255, blue: 255 },
  ]);
});

test("the turns print on four sheets of A4 at most, and no long table stands in one narrow column", async () => {
  const { page } = await browser.show(
    htmlPage({
      title: reports[0]!.title,
      reports,
      figures: ["base-from-above", "axis-pointing", "residual-sky", "residual-angles"].map(
        (name) => nowhereFigures()[name]!,
      ),
      live: false,
    }),
  );
  const printed = (await page.pdf({ format: "A4", preferCSSPageSize: true })).toString("latin1");
  expect(printed.match(/\/Type\s*\/Page\b/g)!.length).toBeLessThanOrEqual(4);
  await page.emulateMedia({ media: "print" });
  const heights = await page.$$eval(".polewright-table", (all) =>
    all.map((one) => one.getBoundingClientRect().height / one.querySelectorAll("tr").length),
  );
  // A row is some 17 pixels high; a long table stands in pieces beside each other.
  expect(Math.min(...heights)).toBeLessThan(11);
  await page.close();
});

describe("a notebook at night", () => {
  /** What the library shows in the theme of the night. */
  const shownBy = (work: () => void): string[] => {
    const outputs: MimeBundle[] = [];
    setDisplay((bundle) => outputs.push(bundle));
    chooseTheme("light");
    work();
    setDisplay(null);
    chooseTheme(null);
    return outputs.map((bundle) => bundle["text/html"] ?? "");
  };
  /** Puts outputs into a cell as notebooks do: the old ones away, the new ones in, their scripts run. */
  const putInto = (cell: string, outputs: readonly string[]): string =>
    `(() => { const cell = document.getElementById(${JSON.stringify(cell)}); cell.innerHTML = "";
      for (const html of ${JSON.stringify(outputs)}) { const place = document.createElement("div"); cell.append(place); place.innerHTML = html;
        for (const old of place.querySelectorAll("script")) { const script = document.createElement("script"); script.textContent = old.textContent; old.replaceWith(script); } } })()`;
  const NOTEBOOK = `<body style="background:#fff"><h1 style="color:#08f">A notebook</h1><div id="first"></div><div id="second"></div></body>`;
  const isDark = async (page: { screenshot(): Promise<Buffer> }, when: string): Promise<void> => {
    const { green, blue } = brightest(await page.screenshot());
    expect(Math.max(green, blue), when).toBeLessThanOrEqual(DARK);
  };

  test("stays dark while the cell that chose it runs again, and after a reload", async () => {
    const chosen = shownBy(() => useTheme("night"));
    const results = shownBy(() => {
      chooseTheme("night");
      show(fit);
    });
    const { page } = await browser.show(NOTEBOOK);
    await page.evaluate(putInto("first", chosen));
    await page.evaluate(putInto("second", results));
    await isDark(page, "first run");
    await page.evaluate(putInto("first", []));
    await isDark(page, "wiped");
    await page.evaluate(putInto("second", []));
    await isDark(page, "all wiped");
    await page.evaluate(putInto("first", chosen));
    await isDark(page, "second run");
    await page.close();

    // A reload after the first cell ran again: what is saved is only what the cells hold.
    const { page: again } = await browser.show(NOTEBOOK);
    await again.evaluate(putInto("second", results));
    await isDark(again, "reloaded");
    await again.evaluate(
      putInto(
        "first",
        shownBy(() => useTheme("light")),
      ),
    );
    expect(brightest(await again.screenshot()).blue).toBe(255);
    await again.close();
  });

  test("without styles and scripts, as an untrusted notebook shows it, no picture is brighter than the night's", async () => {
    const [html] = shownBy(() => {
      chooseTheme("night");
      show(figures[0]);
    }).slice(-1);
    const bare = html!.replace(/<(style|script)[\s\S]*?<\/\1>/g, "");
    const { page } = await browser.show(`<body style="background:#000;color:#f00">${bare}</body>`);
    await isDark(page, "untrusted");
    await page.close();
  });

  test("a page made for paper is dark on the screen, and the whole width of a telephone is its own", async () => {
    const [html] = shownBy(() => {
      chooseTheme("night");
      show(jackSheet(nowhereAdvice(), nowhereMount));
    }).slice(-1);
    const classic = `<style>div.output_subarea{max-width:calc(100% - 14ex)}</style><div class="output_subarea">${html}</div>`;
    const { page } = await browser.show(`<body style="margin:0">${classic}</body>`, 390);
    await page.waitForTimeout(300);
    expect(await page.$eval("iframe", (one) => one.getBoundingClientRect().width)).toBeGreaterThan(380);
    // The margin of the sheet is paper, which by day is white.
    const corner = await page.screenshot({ clip: { x: 0, y: 0, width: 6, height: 6 } });
    expect(brightest(corner)).toEqual({ red: 0, green: 0, blue: 0 });
    await page.close();
  });

  test("what Jupyter folds into a low box stands open", async () => {
    const [html] = shownBy(() => show(turnsReport(nowhereAdvice(), fit)));
    for (const box of [
      `<div class="output_scroll" style="height:24em;overflow:auto">${html}</div>`,
      `<style>.jp-mod-outputsScrolled .jp-Cell-outputArea{overflow-y:auto;max-height:24em}</style><div class="jp-mod-outputsScrolled"><div class="jp-Cell-outputArea">${html}</div></div>`,
    ]) {
      const { page } = await browser.show(box);
      const hidden = await page.$eval(
        ".output_scroll,.jp-Cell-outputArea",
        (one) => one.scrollHeight - one.clientHeight,
      );
      expect(hidden).toBeLessThanOrEqual(1);
      await page.close();
    }
  });
});
