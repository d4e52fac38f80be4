import { afterEach, beforeEach, describe, expect, test, vi } from "vitest";
import { printable } from "../../src/answers/printable.js";
import { InputError } from "../../src/errors.js";
import { loadPlots, type MimeBundle, setDisplay, show, useTheme } from "../../src/notebook/display.js";
import { chooseTheme, currentTheme } from "../../src/notebook/theme.js";
import { fitReport } from "../../src/report/fit-report.js";
import { findStar } from "../../src/sky/find-star.js";
import { nowhereFigures } from "../support/figures.js";
import { nowhereAdvice, nowhereFit } from "../support/fit-fixture.js";
import { onScreen } from "../support/on-screen.js";

/** A notebook with ten figures stays under 2.5 MB, each figure under 60 kB. */
const NOTEBOOK_BYTES = 2_500_000;
const FIGURE_BYTES = 60_000;
const LIBRARY_BYTES = 1_400_000;

const DISPLAY = Symbol.for("polewright.display");
const CELL = Symbol.for("polewright.cell");
const kernel = globalThis as { [DISPLAY]?: unknown; [CELL]?: unknown };

let outputs: MimeBundle[] = [];

function html(): string[] {
  return outputs.map((bundle) => bundle["text/html"] ?? "");
}

function libraries(): number {
  return html().filter((text) => text.includes("data-polewright-library")).length;
}

beforeEach(() => {
  outputs = [];
  setDisplay((bundle) => outputs.push(bundle));
  chooseTheme("light");
});

afterEach(() => {
  setDisplay(null);
  chooseTheme(null);
  delete kernel[DISPLAY];
  delete kernel[CELL];
  vi.restoreAllMocks();
  vi.unstubAllEnvs();
});

describe("show", () => {
  test("gives every kind of result an HTML form and a text form", () => {
    const fit = nowhereFit();
    show(fit, nowhereAdvice(), fitReport(fit), "plain & simple", [{ star: "Rigel", altitude: 41.2345 }]);
    expect(outputs).toHaveLength(5);
    for (const bundle of outputs) {
      expect(Object.keys(bundle).sort()).toEqual(["text/html", "text/plain"]);
    }
    expect(outputs[0]?.["text/plain"]).toContain("of the polar axis points");
    expect(outputs[1]?.["text/plain"]).toContain("north-east jack");
    expect(html()[3]).toContain("plain &amp; simple");
    expect(html()[4]).toContain('<th scope="row">Rigel</th>');
    expect(html()[4]).toContain("41.23");
  });

  test("shows faults one by one, and whatever reports itself by its own report", () => {
    const fault = { code: "a", message: "No zone.", allowed: "a time with its zone", line: 3 };
    show(new InputError([fault, { ...fault, line: 4 }]));
    expect(html()[0]?.match(/<li>/g)).toHaveLength(2);
    show(printable({ data: [], layout: {} }, () => "my own words"));
    expect(html()[1]).toContain("my own words");
  });

  test("text cannot become HTML", () => {
    show("<script>alert(1)</script>", [{ "<b>": "<i>" }]);
    expect(html().join("")).not.toMatch(/<script|<b>|<i>/);
  });

  test("without a notebook it prints text", () => {
    setDisplay(null);
    const log = vi.spyOn(console, "log").mockImplementation(() => {});
    show(nowhereFit(), nowhereFigures()["residual-sky"]);
    expect(log).toHaveBeenCalledTimes(2);
    expect(log.mock.calls[0]?.[0]).toContain("of the polar axis points");
    expect(log.mock.calls[1]?.[0]).toContain("stars in use");
    useTheme("night");
    loadPlots();
    expect(log).toHaveBeenCalledTimes(2);
  });

  test("takes tslab's display object, and finds the kernel's own", () => {
    const page: string[] = [];
    setDisplay({ html: (text) => page.push(text) });
    show("one");
    expect(page[0]).toContain("one");
    setDisplay(null);
    const offered = vi.fn();
    kernel[DISPLAY] = offered;
    show("two");
    expect(offered).toHaveBeenCalledOnce();
  });
});

describe("the drawing library", () => {
  const figures = Object.values(nowhereFigures());

  test("stands in the notebook once, before the first figure, whatever number of figures follow", () => {
    show(nowhereFit());
    expect(libraries()).toBe(0);
    show(...figures);
    expect(libraries()).toBe(1);
    expect(html()[1]).toContain("data-polewright-library");
    expect(html()[1]!.length).toBeGreaterThan(LIBRARY_BYTES);
  });

  test("a figure adds little, and a notebook of ten stays small when saved", () => {
    show(...figures.slice(0, 10));
    const saved = outputs.map((bundle) => JSON.stringify(bundle));
    for (const text of saved.filter((text) => !text.includes("data-polewright-library"))) {
      expect(text.length).toBeLessThan(FIGURE_BYTES);
    }
    expect(Buffer.byteLength(saved.join(""))).toBeLessThan(NOTEBOOK_BYTES);
  });

  test("comes again when the cell that holds it runs again, and only then", () => {
    const running = { cell: "cell 1", run: 1 };
    kernel[CELL] = () => ({ ...running });
    show(figures[0], figures[1]);
    expect(libraries()).toBe(1);
    Object.assign(running, { cell: "cell 2", run: 2 });
    show(figures[2]);
    expect(libraries()).toBe(1);
    Object.assign(running, { cell: "cell 1", run: 3 });
    show(figures[0], figures[1]);
    expect(libraries()).toBe(2);
    Object.assign(running, { cell: "cell 2", run: 4 });
    show(figures[2]);
    expect(libraries()).toBe(2);
  });

  test("can be put where one wants it", () => {
    loadPlots();
    show(figures[0]);
    expect(libraries()).toBe(1);
    expect(html()[0]).toContain("data-polewright-library");
  });
});

describe("plain values", () => {
  test("a star, a term, the pole, a mount and lists of them show as tables", () => {
    const fit = nowhereFit();
    const star = findStar("Canopus");
    show(star, [star, findStar("Sirius")], fit.terms, fit.pole, fit.mount, [fit, fit]);
    expect(outputs).toHaveLength(6);
    for (const text of html()) expect(text).toContain("<table>");
    expect(html()[0]).toContain("α Car");
    expect(html()[1]).toContain('<th scope="row">Sirius</th>');
    expect(html()[2]).toContain('<th scope="row">axis squareness</th>');
    expect(html()[3]).toMatch(/too (high|low)/);
    expect(html()[4]).toContain(String(fit.mount.site.latitude).replace("-", "−"));
    expect(html()[5]!.match(/of the polar axis points/g)!.length).toBeGreaterThanOrEqual(2);
  });
});

describe("the theme", () => {
  test("night comes with every output, and colours all that follows, figures included", () => {
    useTheme("night");
    show(nowhereFit(), nowhereFigures()["residual-sky"]);
    const shown = html().filter((text) => !text.includes("data-polewright-library"));
    expect(shown).toHaveLength(3);
    for (const text of shown) expect(text).toContain("<style data-polewright-night>");
    // The cell that chose the theme runs again: its first output is wiped, so it must bring the night anew.
    useTheme("night");
    expect(html().at(-1)).toContain("<style data-polewright-night>");
    for (const colour of onScreen(shown.join(""))
      .replaceAll("%23", "#")
      .match(/#(?:[0-9a-f]{6}|[0-9a-f]{3})\b/gi) ?? []) {
      expect(colour).toMatch(/^#(?:[0-9a-f]{2}0000|f00)$/);
    }
    useTheme("light");
    expect(html().at(-1)).toContain("style.remove()");
  });

  test("comes from POLEWRIGHT_THEME where none was chosen, and an unknown one is refused", () => {
    chooseTheme(null);
    vi.stubEnv("POLEWRIGHT_THEME", "night");
    expect(currentTheme().name).toBe("night");
    show("x");
    expect(html()[0]).toContain("data-polewright-night");
    vi.stubEnv("POLEWRIGHT_THEME", "toString");
    expect(() => currentTheme()).toThrow(/Found: toString\. Allowed: light or night/);
    vi.stubEnv("POLEWRIGHT_THEME", "");
    expect(currentTheme().name).toBe("light");
    expect(() => useTheme("dark" as "night")).toThrow(InputError);
  });
});
