/** Figures as a browser draws them. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { driftAnswer, driftFigures } from "../../src/answers/drift.js";
import { exposureAnswer, exposureFigures } from "../../src/answers/exposure.js";
import { readDrifts } from "../../src/drift/file.js";
import { plotlySource } from "../../src/files/plotly-source.js";
import { figureHtml, plotlyHtml } from "../../src/notebook/figure-html.js";
import { nightPageStyle } from "../../src/notebook/night-page.js";
import { htmlPage } from "../../src/notebook/page.js";
import type { Figure } from "../../src/plots/figure.js";
import * as plots from "../../src/plots/plots.js";
import { fitReport } from "../../src/report/fit-report.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { lightTheme, nightTheme, type Theme } from "../../src/words/theme.js";
import { nowhereFigures } from "../support/figures.js";
import { nowhereAdvice, nowhereFit, nowhereMount } from "../support/fit-fixture.js";
import { Browser, brightest, drawn } from "./browser.js";

const DESK_PX = 1100;
const NARROW_PX = 500;

const figures = nowhereFigures();
const fit = nowhereFit();
const reports = [fitReport(fit), turnsReport(nowhereAdvice(), fit)];
const library = plotlyHtml(plotlySource());
const wholeLibrary = readFileSync(createRequire(import.meta.url).resolve("plotly.js-dist-min"), "utf8");

let browser: Browser;
beforeAll(async () => {
  browser = await Browser.open();
});
afterAll(async () => {
  await browser.close();
});

const DRIFTS = `hourAngleDeg,declinationDeg,minutes,driftNorthArcsec,uncertaintyArcsec
0,0,10,52.1,1
-70,-30,10,-30.2,1
50,-20,10,61.7,1
`;

const asked = {
  fit,
  targets: ["Canopus"],
  timeMs: Date.UTC(2026, 2, 14, 19),
  exposureS: 30,
  stack: { count: 60 },
};
const made = [
  ...(await driftFigures(
    driftAnswer(nowhereMount, readDrifts(DRIFTS, { camera: nowhereMount.camera, file: "drift.csv" }), fit),
  )),
  ...(await exposureFigures(asked, exposureAnswer(asked))),
];

/** The evening's own figures, in the light theme and turned to another. */
function eveningFigures(theme: Theme): Readonly<Record<string, Figure>> {
  return Object.fromEntries(
    made.map((figure, index) => [`evening ${index + 1}`, plots.themed(figure, theme)]),
  );
}

interface PlotlyWindow {
  readonly Plotly: { validate(data: unknown, layout: unknown): { msg: string }[] | undefined };
}

test("plotly finds nothing to object to in any figure, in either theme", async () => {
  const { page } = await browser.show("<p>empty</p>");
  await page.addScriptTag({ content: wholeLibrary });
  for (const theme of [lightTheme, nightTheme]) {
    for (const [name, figure] of Object.entries({ ...nowhereFigures(theme), ...eveningFigures(theme) })) {
      const objections = await page.evaluate(
        ({ data, layout }) =>
          ((window as unknown as PlotlyWindow).Plotly.validate(data, layout) ?? []).map(({ msg }) => msg),
        structuredClone({ data: figure.data, layout: figure.layout }) as { data: unknown; layout: unknown },
      );
      expect(objections, name).toEqual([]);
    }
  }
  // The check can fail: a mistyped property is objected to.
  const slip = await page.evaluate(
    () =>
      (window as unknown as PlotlyWindow).Plotly.validate(
        [{ type: "scatter", x: [1], y: [1], colour: "red" }],
        {},
      )?.length,
  );
  expect(slip).toBe(1);
});

describe("a page of everything", () => {
  test.each([
    ["light", DESK_PX, lightTheme],
    ["light", NARROW_PX, lightTheme],
    ["night", DESK_PX, nightTheme],
    ["night", NARROW_PX, nightTheme],
  ] as const)(
    "%s, %i pixels wide: every figure comes to life, nothing is fetched, nothing overflows",
    async (name, width, theme) => {
      const html = htmlPage({
        title: "Nowhere School (invented)",
        reports,
        figures: Object.values(figures),
        theme,
      });
      const { page, troubles } = await browser.show(html, width);
      await drawn(page, Object.keys(figures).length);
      expect(troubles).toEqual([]);
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
      const overflowing = await page.$$eval(
        ".js-plotly-plot",
        (plots) =>
          plots.filter((plot) => plot.scrollWidth > (plot.parentElement?.clientWidth ?? 0) + 1).length,
      );
      expect(overflowing).toBe(0);
      expect(
        await page.$$eval(
          ".polewright-still",
          (stills) => stills.filter((still) => still.clientHeight > 0).length,
        ),
      ).toBe(0);
      expect(await page.evaluate(() => ["Plotly", "moduleName"].filter((key) => key in window))).toEqual([]);
      if (name === "night") {
        const light = brightest(await page.screenshot({ fullPage: true }));
        expect([light.green, light.blue]).toEqual([0, 0]);
        expect(light.red).toBeGreaterThan(200);
      }
      await page.close();
    },
  );

  test("at night neither pointing at a star nor its words bring any other light than red", async () => {
    const page = htmlPage({
      title: "Night",
      reports: [],
      figures: [figures["residual-sky"]!],
      theme: nightTheme,
    });
    // Without the red sheet over the page: the figure itself must hold no other light.
    const bare = page.replace(/html::after\{[^}]*\}/, "");
    const { page: shown } = await browser.show(bare);
    await drawn(shown, 1);
    // The stars in use are the group with the most points.
    const [x, y] = await shown.evaluate(() => {
      const groups = [...document.querySelectorAll(".js-plotly-plot .points")];
      groups.sort((a, b) => b.childElementCount - a.childElementCount);
      const box = groups[0]!.firstElementChild!.getBoundingClientRect();
      return [box.x + box.width / 2, box.y + box.height / 2];
    });
    await shown.mouse.move(x!, y!);
    await shown.waitForSelector(".hoverlayer .hovertext");
    expect(await shown.textContent(".hoverlayer .hovertext")).toMatch(/row \d+.*readings/);
    const light = brightest(await shown.screenshot());
    expect([light.green, light.blue]).toEqual([0, 0]);
  });

  test("at night a notebook still shows what is chosen, selected and active, and where the cursor is", async () => {
    // The elements as JupyterLab 4's completer, cells and editor (CodeMirror 6) and the Notebook's CodeMirror 5 write them.
    const { page: shown } = await browser.show(`${nightPageStyle()}
      <ul><li class="jp-Completer-item jp-mod-active"><code id="chosen">Canopus</code></li><li class="jp-Completer-item"><code id="other">Capella</code></li></ul>
      <div class="jp-Cell jp-mod-active"><div class="jp-Collapser-child" id="active"></div></div>
      <div class="jp-Cell"><div class="jp-Collapser-child" id="inactive"></div></div>
      <div class="cm-content" id="above"><div class="cm-line"><span id="code">sight</span></div></div>
      <div class="cm-selectionBackground" id="selected"></div><div class="cm-cursor" id="cursor" style="border-left:1px solid #000"></div>
      <div class="CodeMirror-selected" id="selected5"></div><div class="CodeMirror-code"><pre class="CodeMirror-line" id="code5">sight</pre></div>
      <select size="2"><option id="line" selected>Canopus</option><option id="line2">Capella</option></select>`);
    const style = (id: string, property: "backgroundColor" | "backgroundImage" | "borderLeftColor") =>
      shown.$eval(`#${id}`, (element, name) => getComputedStyle(element)[name], property);
    const [black, soft] = ["rgb(0, 0, 0)", "rgb(74, 0, 0)"];
    for (const id of ["chosen", "selected", "selected5"]) {
      expect(await style(id, "backgroundColor"), id).toBe(soft);
    }
    for (const id of ["other", "inactive"]) expect(await style(id, "backgroundColor"), id).toBe(black);
    expect(await style("line", "backgroundImage")).toContain(soft);
    expect(await style("line2", "backgroundImage")).toBe("none");
    expect(await style("active", "backgroundColor")).not.toBe(black);
    // The selection lies behind the letters: nothing of theirs may cover it.
    for (const id of ["above", "code", "code5"]) {
      expect(await style(id, "backgroundColor"), id).toBe("rgba(0, 0, 0, 0)");
    }
    expect(await style("cursor", "borderLeftColor")).toBe("rgb(255, 0, 0)");
    await shown.close();
  });

  test("follows its place when the window is made narrow", async () => {
    const { page } = await browser.show(
      htmlPage({ title: "x", reports: [], figures: [figures["residual-sky"]!] }),
      DESK_PX,
    );
    await drawn(page, 1);
    await page.setViewportSize({ width: NARROW_PX, height: 800 });
    await page.waitForFunction(
      (most) => (document.querySelector(".js-plotly-plot .main-svg")?.clientWidth ?? 9999) < most,
      NARROW_PX,
    );
    expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(NARROW_PX);
  });
});

test("at night the axis walks when asked, from its first night to its last, in red only", async () => {
  const walk = figures["axis-walk"]!;
  const { page, troubles } = await browser.show(
    htmlPage({ title: "x", reports: [], figures: [walk], theme: nightTheme }),
  );
  await drawn(page, 1);
  const place = (): Promise<number> =>
    page.evaluate(
      (trace) =>
        (document.querySelector(".js-plotly-plot") as unknown as { data: { x: number[] }[] }).data[trace]!
          .x[0]!,
      walk.motion!.trace,
    );
  const [first, last] = [walk.motion!.places[0]!.x[0]!, walk.motion!.places.at(-1)!.x[0]!];
  expect(await place()).toBe(last);
  await page.keyboard.press("Tab");
  await page.getByRole("button", { name: walk.motion!.button }).press("Enter");
  await page.waitForTimeout(300);
  expect(Math.abs((await place()) - first)).toBeLessThan(Math.abs(first - last) / 2);
  const light = brightest(await page.screenshot({ fullPage: true }));
  expect(Math.max(light.green, light.blue)).toBeLessThanOrEqual(60);
  await page.waitForFunction(
    ([trace, end]) =>
      (document.querySelector(".js-plotly-plot") as unknown as { data: { x: number[] }[] }).data[trace!]!
        .x[0] === end,
    [walk.motion!.trace, last] as const,
    { timeout: 20_000 },
  );
  expect(troubles).toEqual([]);
  await page.close();
});

describe("the library and the figures find each other", () => {
  const [first, second] = [figureHtml(figures["residual-sky"]!), figureHtml(figures["zero-jump"]!)];

  test.each([
    ["library first", library + first + second],
    ["library last", first + second + library],
    ["library between", first + library + second],
    ["library twice", library + first + library + second],
    ["a figure twice", first + library + first],
  ])("%s", async (_name, html) => {
    const { page, troubles } = await browser.show(html);
    await drawn(page, 2);
    expect(await page.$$eval(".js-plotly-plot", (plots) => plots.length)).toBe(2);
    expect(troubles).toEqual([]);
    await page.close();
  });

  test("outputs that are put into the page later, out of order, with RequireJS there", async () => {
    const { page, troubles } = await browser.show(
      `<script>window.defined=[];window.define=function(){window.defined.push(arguments)};window.define.amd={};</script><div id=a></div><div id=b></div>`,
    );
    // As a notebook does it: the output's HTML is set, and its scripts are made anew so that they run.
    const put = (id: string, html: string) =>
      page.evaluate(
        ([place, content]) => {
          const holder = document.getElementById(place!)!;
          holder.innerHTML = content!;
          for (const old of holder.querySelectorAll("script")) {
            const script = document.createElement("script");
            script.textContent = old.textContent;
            old.replaceWith(script);
          }
        },
        [id, html],
      );
    await put("b", first);
    await page.waitForTimeout(500);
    expect(await page.$$eval(".polewright-still", (stills) => stills[0]!.clientHeight)).toBeGreaterThan(100);
    await put("a", library);
    await drawn(page, 1);
    // The cell that holds the library is run again without it: the page still has it.
    await put("a", second);
    await drawn(page, 2);
    expect(await page.evaluate(() => (window as unknown as { defined: unknown[] }).defined.length)).toBe(0);
    expect(troubles).toEqual([]);
  });

  test("without scripts every figure has its still picture and its words", async () => {
    const plain = await Browser.open({ javaScriptEnabled: false });
    try {
      const { page } = await plain.show(library + first + second);
      expect(await page.locator(".polewright-still img:visible").count()).toBe(2);
      expect(await page.locator(".polewright-summary:visible").count()).toBe(2);
    } finally {
      await plain.close();
    }
  });
});

test("names and notes that are written to run do not run", async () => {
  const evil = `</script><script>alert(1)</script><img src=x onerror="alert(2)"><a href="javascript:alert(3)">x</a>\u2028`;
  const named = nowhereFit({ stars: [evil, "a", "b", "c", "d", "e", evil, "f", "g"] });
  const hurt = {
    ...named,
    mount: { ...named.mount, name: evil },
    notes: [{ code: "outlier", row: 1, message: evil, remedy: evil }] as const,
  };
  const pictures: Figure[] = [
    plots.residualSky(hurt),
    plots.residualAngles(hurt),
    plots.skyCoverage(hurt, [{ label: evil, azimuthDeg: 10, altitudeDeg: 40 }]),
    plots.zeroJump(hurt),
  ];
  const { page, troubles } = await browser.show(
    htmlPage({ title: evil, reports: [fitReport(hurt)], figures: pictures }),
  );
  await drawn(page, pictures.length);
  expect(troubles).toEqual([]);
  expect(await page.$$eval(".js-plotly-plot a, .polewright a", (links) => links.length)).toBe(0);
  expect(await page.textContent("h1")).toContain("<img src=x");
});
