import fc from "fast-check";
import { expect, test } from "vitest";
import { fitReport } from "../../src/report/fit-report.js";
import { reportHtml } from "../../src/report/html.js";
import { escapeFigureText, escapeHtml, scriptJson, scriptSource } from "../../src/words/escape.js";
import { lightTheme, nightTheme, themes } from "../../src/words/theme.js";
import { nowhereFit } from "../support/fit-fixture.js";
import { onScreen } from "../support/on-screen.js";

test("tables carry a caption, and header cells with their scope", () => {
  const html = reportHtml(fitReport(nowhereFit()));
  expect(html.match(/<table>/g)).toHaveLength(2);
  expect(html.match(/<caption>/g)).toHaveLength(2);
  expect(html.match(/<th(?=[ >])(?! scope="(?:col|row)")/g)).toBeNull();
});

test("every text is escaped, whatever it is", () => {
  const evil = `"'><script>alert(1)</script><img src=x onerror=alert(1)>&`;
  const fit = nowhereFit({
    stars: [evil, ...Array.from({ length: 11 }, (_, index) => `star ${index}`)],
    misnamedRow: null,
  });
  const html = reportHtml(fitReport({ ...fit, mount: { ...fit.mount, name: evil } }));
  expect(html).not.toContain("<script");
  expect(html).not.toContain("<img");
  expect(html).toContain("&lt;script&gt;");
});

test("JSON inside a script cannot end the script and reads back the same", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary" }), (text) => {
      const json = scriptJson({ text: `</script><!--\u2028\u2029${text}` });
      expect(json).not.toMatch(/[<>&\u2028\u2029]/);
      expect(JSON.parse(json)).toEqual({ text: `</script><!--\u2028\u2029${text}` });
    }),
    { seed: 7, numRuns: 200 },
  );
  expect(scriptSource("a='</script>';b='<!--'")).toBe("a='<\\/script>';b='<\\!--'");
});

test("plotly's own little HTML cannot be written by a name", () => {
  expect(escapeFigureText("<a href='x'>&")).toBe("&lt;a href='x'&gt;&amp;");
  expect(escapeHtml("a\"b'c")).toBe("a&quot;b&#39;c");
});

test("headings step down from the one asked for", () => {
  const html = reportHtml(fitReport(nowhereFit()), lightTheme, { headingLevel: 2, withStyle: false });
  expect(html).toContain("<h2>");
  expect(html).toContain("<h3>");
  expect(html).not.toContain("<h4>");
  expect(html).not.toContain("<style>");
});

test("the night theme holds no green and no blue anywhere", () => {
  const colours = [...Object.values(nightTheme.colours), ...nightTheme.scale.map(([, colour]) => colour)];
  for (const colour of colours) {
    expect(colour).toMatch(/^#[0-9a-f]{2}0000$/);
  }
  const html = reportHtml(fitReport(nowhereFit()), nightTheme);
  for (const colour of onScreen(html).match(/#[0-9a-f]{3,8}\b/gi) ?? []) {
    expect(colour).toMatch(/^#[0-9a-f]{2}0000$/);
  }
});

/** Contrast of two colours (W3C, Web Content Accessibility Guidelines 2.2, relative luminance and contrast ratio). */
function contrast(a: string, b: string): number {
  const luminance = (colour: string): number => {
    const [red, green, blue] = [1, 3, 5].map((at) => {
      const part = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
      return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * red! + 0.7152 * green! + 0.0722 * blue!;
  };
  const [dark, light] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (light! + 0.05) / (dark! + 0.05);
}

/** WCAG 2.2, 1.4.3 (AA): text 4.5; 1.4.11: parts of a picture 3. */
const TEXT_CONTRAST = 4.5;
const PICTURE_CONTRAST = 3;
/** Red alone reaches 5.25 against black at its fullest; at night lesser text may be dimmer. */
const NIGHT_TEXT_CONTRAST = 3;

test("text and marks stand out from what is behind them", () => {
  const { colours } = lightTheme;
  for (const back of [colours.page, colours.stripe, colours.verdictBack, colours.cautionBack]) {
    expect(contrast(colours.text, back)).toBeGreaterThan(TEXT_CONTRAST);
    expect(contrast(colours.muted, back)).toBeGreaterThan(TEXT_CONTRAST);
  }
  for (const mark of [colours.first, colours.second, colours.third, colours.aside]) {
    expect(contrast(mark, colours.panel)).toBeGreaterThan(PICTURE_CONTRAST);
  }
  for (const [, colour] of lightTheme.scale) {
    expect(contrast(colours.text, colour)).toBeGreaterThan(TEXT_CONTRAST);
  }
  expect(contrast(nightTheme.colours.text, nightTheme.colours.page)).toBeGreaterThan(NIGHT_TEXT_CONTRAST);
  expect(contrast(nightTheme.colours.muted, nightTheme.colours.page)).toBeGreaterThan(NIGHT_TEXT_CONTRAST);
});

test("each purpose of the light theme has a colour of its own, so that a figure can change its theme", () => {
  const colours = [...Object.values(lightTheme.colours), ...lightTheme.scale.map(([, colour]) => colour)];
  expect(new Set(colours).size).toBe(colours.length);
  for (const theme of Object.values(themes)) {
    expect(theme.fontSizePx).toBeGreaterThanOrEqual(15);
  }
});
