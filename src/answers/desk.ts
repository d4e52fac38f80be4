/** A page for the desk: tonight's objects and their readings, moving with the sky. */
import type { MountFit } from "../fit/fit-result.js";
import { deskPage } from "../page/desk-data.js";
import type { WholePage } from "../page/page-text.js";
import { block, type Report } from "../report/report.js";
import { question } from "./answer.js";
import { mountOption, nightPlace } from "./night.js";
import { knownTonight } from "./standing.js";
import { text, themedPage } from "./takes.js";

/** `polewright desk NIGHT.csv --out DESK.html`. */
export const deskOf = question({
  name: "desk",
  asks: "write a page for the desk: tonight's objects and their readings, moving with the sky",
  example: "polewright desk my-telescope/night.csv --out desk.html",
  takes: {
    night: nightPlace,
    mount: mountOption,
    model: text("file", "a kept model; the night then only sets the zeros"),
    out: themedPage,
  },
  ask({ night, mount: mountPath, model, out }, read) {
    const { mount, standing, notes } = knownTonight(read, mountPath, night, model);
    const fit = standing !== null && "residuals" in standing ? (standing as MountFit) : null;
    const kept = fit === null ? standing : null;
    return { page: deskPage({ mount, fit, kept }, read.page, read.pageTheme), out, notes };
  },
  say: ({ page, out }) => [pageReport(page, out)],
  json: ({ page, out }) => ({ file: out, title: page.title, bytes: page.html.length }),
  notes: ({ notes }) => notes,
  writes: ({ page, out }) => [{ path: out, text: page.html, kind: "page", option: "--out" }],
});

/** Where a page was written. */
export function pageReport(page: WholePage, out: string): Report {
  return {
    title: page.title,
    blocks: [
      block.verdict(
        `The page is in ${out}. It is one file and needs no network: open it on a laptop, or send it to a phone.`,
      ),
    ],
  };
}
