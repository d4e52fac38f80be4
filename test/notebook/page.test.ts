import { runInNewContext } from "node:vm";
import { describe, expect, test } from "vitest";
import { plotlySource } from "../../src/files/plotly-source.js";
import { figureHtml, plotlyHtml } from "../../src/notebook/figure-html.js";
import { htmlPage } from "../../src/notebook/page.js";
import * as plots from "../../src/plots/plots.js";
import { fitReport } from "../../src/report/fit-report.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { nightTheme } from "../../src/words/theme.js";
import { nowhereFigures } from "../support/figures.js";
import { nowhereAdvice, nowhereFit } from "../support/fit-fixture.js";
import { onScreen } from "../support/on-screen.js";

const fit = nowhereFit();
const reports = [fitReport(fit), turnsReport(nowhereAdvice(), fit)];
const figures = Object.values(nowhereFigures());

describe("a page", () => {
  const page = htmlPage({ title: "Nowhere School <invented>", reports, figures });

  test("stands on its own: one library, nothing fetched", () => {
    expect(page.match(/data-polewright-library/g)).toHaveLength(1);
    expect(page.replace(plotlySource(), "")).not.toMatch(
      /<link|<img(?! alt="[^"]*" src="data:)|<iframe|@import| src=["']?https?:/,
    );
    expect(page).toContain('<meta name="viewport"');
    expect(page).toContain('<html lang="en">');
    expect(page).toContain("<title>Nowhere School &lt;invented&gt;</title>");
    expect(page.match(/<figure /g)).toHaveLength(figures.length);
  });

  test("carries the cautions", () => {
    expect(page.match(/class="polewright-caution"/g)!.length).toBeGreaterThanOrEqual(
      nowhereAdvice().cautions.length,
    );
  });

  test("without live figures it is small and holds no script", () => {
    const still = htmlPage({ title: "x", reports, figures, live: false });
    expect(still).not.toContain("<script");
    expect(still.length).toBeLessThan(300_000);
    expect(still.match(/src="data:image\/svg\+xml/g)).toHaveLength(figures.length);
  });

  test("at night it is black behind and red before", () => {
    const night = htmlPage({ title: "x", reports, figures, live: false, theme: nightTheme });
    expect(night).toContain("background:#000000");
    expect(night).toContain("mix-blend-mode:multiply");
    for (const colour of onScreen(night)
      .replaceAll("%23", "#")
      .match(/#(?:[0-9a-f]{6}|[0-9a-f]{3})\b/gi) ?? []) {
      expect(colour).toMatch(/^#(?:[0-9a-f]{2}0000|f00)$/);
    }
  });
});

describe("a figure's HTML", () => {
  test("what a star is called cannot leave the script or the picture", () => {
    const evil = `</script><script>alert(1)</script><!--\u2028<img src=x onerror=alert(1)>`;
    const named = nowhereFit({ stars: [evil, "a", "b", "c", "d", "e", evil, "f"] });
    const html = figureHtml(plots.residualSky({ ...named, mount: { ...named.mount, name: evil } }));
    expect(html.match(/<script/g)).toHaveLength(1);
    expect(html.match(/<\/script/g)).toHaveLength(1);
    expect(html.includes("<img src=x") || html.includes("<!--")).toBe(false);
    // As text of the page U+2028 is harmless; inside the script older engines would take it for the end of a line.
    expect(html.slice(html.indexOf("<script")).includes("\u2028")).toBe(false);
  });

  test("holds a still picture, a title, a summary, and keeps the notebook's formula reader away", () => {
    const html = figureHtml(figures[0]!);
    const [, alt, address] = /<div class="polewright-still"><img alt="([^"]*)" src="([^"]*)">/.exec(html)!;
    expect(alt).toBe("Where Nowhere School 40 cm points beside each star");
    expect(decodeURIComponent(address!.replace(/^[^,]*,/, ""))).toBe(
      plots.figureSvg(figures[0]!, undefined, { withTitle: false }),
    );
    expect(html).toContain('<figcaption class="polewright-summary">');
    expect(html).toContain("tex2jax_ignore mathjax_ignore");
  });
});

describe("the library's script", () => {
  const scriptOf = (html: string): string => /<script>([\s\S]*)<\/script>/.exec(html)![1]!;
  const fake = `(function(root,factory){if(typeof module==="object"&&module.exports){module.exports=factory();}else if(typeof define==="function"&&define.amd){define([],factory);}else{root.Plotly=factory();}})(this,function(){var p={mine:true};window.Plotly=p;return p;});`;
  const run = (before: Record<string, unknown>) => {
    const events: string[] = [];
    const window: Record<string, unknown> = { ...before };
    const defined: unknown[] = [];
    const define = Object.assign((...args: unknown[]) => defined.push(args), { amd: {} });
    const document = { dispatchEvent: (event: { type: string }) => events.push(event.type) };
    class Event {
      constructor(readonly type: string) {}
    }
    runInNewContext(scriptOf(plotlyHtml(fake)), { window, define, document, Event });
    return { window, events, defined };
  };

  test("keeps the library under a name of its own, away from RequireJS and from another plotly", () => {
    const other = { other: true };
    const { window, events, defined } = run({ Plotly: other });
    expect(window.polewrightPlotly).toEqual({ mine: true });
    expect(window.Plotly).toBe(other);
    expect(defined).toEqual([]);
    expect(events).toEqual(["polewright-plotly"]);
    expect("Plotly" in run({}).window).toBe(false);
  });

  test("run a second time it leaves the first in place and calls the figures again", () => {
    const first = { first: true };
    const { window, events } = run({ polewrightPlotly: first });
    expect(window.polewrightPlotly).toBe(first);
    expect(events).toEqual(["polewright-plotly"]);
  });
});
