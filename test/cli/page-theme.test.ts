/** Pages of the desk and the class begin in the theme that was asked for: a white page at the telescope blinds. */
import { expect, it } from "vitest";
import { diskReading } from "../../src/cli/reading.js";
import { filledPage } from "../../src/page/page-text.js";

it.each([
  ["night", "night"],
  ["light", "day"],
])("a page asked for with --theme %s begins with %s", (theme, begins) => {
  const { pageTheme } = diskReading(theme);
  const template = '<html data-theme="day"><title></title></html>';
  expect(filledPage(template, "x", null, pageTheme)).toContain(`data-theme="${begins}"`);
});
