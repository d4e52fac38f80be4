/** A page for a class: a telescope whose errors are given by hand, and riddles. */
import { wrongTelescopePage } from "../page/wrong-telescope.js";
import { question } from "./answer.js";
import { pageReport } from "./desk.js";
import { number, themedPage } from "./takes.js";

/** Where the page begins when nothing is said. */
const DEFAULT_LATITUDE = -30;

/** `polewright wrong-telescope --out PAGE.html`. */
export const wrongTelescopeOf = question({
  name: "wrong-telescope",
  asks: "write a page for a class: a telescope whose errors are given by hand, and riddles",
  example: "polewright wrong-telescope --latitude 48 --out wrong.html",
  takes: {
    latitude: number("degrees", "where the page begins, north positive (-30 when not given)"),
    out: themedPage,
  },
  ask: ({ latitude, out }, read) => ({
    page: wrongTelescopePage(latitude ?? DEFAULT_LATITUDE, read.page, read.pageTheme),
    out,
  }),
  say: ({ page, out }) => [pageReport(page, out)],
  json: ({ page, out }) => ({ file: out, title: page.title, bytes: page.html.length }),
  writes: ({ page, out }) => [{ path: out, text: page.html, kind: "page", option: "--out" }],
});
