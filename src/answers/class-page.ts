/** Pages to print for a class. */
import { classPageNames, classPage as plainClassPage } from "../page/class-page.js";
import { question } from "./answer.js";
import { pageReport } from "./desk.js";
import { needed, number, place, text } from "./takes.js";

/** `polewright class-page NAME --latitude DEGREES --out PAGE.html`. */
export const classPageOf = question({
  name: "class-page",
  asks: "write a page to print for a class: a poster of all errors, or a sheet for the hands",
  example: "polewright class-page poster --latitude 48 --out poster.html",
  takes: {
    name: place("name", `the page: ${classPageNames.join(", ")}`),
    latitude: needed(number("degrees", "the class's own latitude, north positive")),
    out: needed(text("file", "the page to write")),
  },
  ask: ({ name, latitude, out }) => ({ page: plainClassPage(name, latitude), out }),
  say: ({ page, out }) => [pageReport(page, out)],
  json: ({ page, out }) => ({ file: out, title: page.title, bytes: page.html.length }),
  writes: ({ page, out }) => [{ path: out, text: page.html, kind: "page", option: "--out" }],
});
