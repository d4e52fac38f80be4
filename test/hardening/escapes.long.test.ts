/** Names, notes and paths are text wherever they are shown: in pages, in a terminal, in JSON. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { reportText } from "../../src/report/text.js";
import { BUILD_TIMEOUT_MS, built } from "../support/built.js";
import { harmfulNight, harmfulPages, harmfulReports, payloads } from "./payloads.js";

const tags = new Set(
  (
    "html head meta title style body main section figure figcaption div p h1 h2 h3 h4 h5 strong ul ol li table caption span thead tbody tr th td details summary img script " +
    "svg g rect circle ellipse line path polyline polygon text tspan title desc defs clippath pre"
  ).split(" "),
);
const attributes =
  /^(lang|charset|name|content|class|style|role|scope|id|tabindex|hidden|alt|src|width|height|aria-[a-z]+|data-polewright[a-z-]*|xmlns|viewbox|d|x|y|x1|x2|y1|y2|cx|cy|r|rx|ry|points|fill|fill-opacity|stroke|stroke-[a-z]+|opacity|transform|text-anchor|dominant-baseline|dy|dx|font-[a-z]+|clip-path|preserveaspectratio|paint-order|vector-effect|letter-spacing)$/;
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const CONTROL = /[\u0000-\u0008\u000b\u000c\u000e-\u001f]/;
/** How this project's own scripts begin. */
const scripts =
  /^(\(function\(key,figure,config\)|\(function\(\)\{\nif\(!window\.polewrightPlotly|document\.querySelectorAll)/;

/** What a reader of HTML would find in a page that has no business there. */
function intruders(html: string): string[] {
  const found: string[] = [];
  // Scripts end where a browser ends them: at the first end tag, whatever stands around it.
  const bare = html.replace(
    /<script\b([^>]*)>([\s\S]*?)<\/script[^>]*>/gi,
    (_, given: string, source: string) => {
      if (given !== "" || !scripts.test(source)) found.push(`script ${given}${source.slice(0, 80)}`);
      if (/<!--|<script/i.test(source.replaceAll("<\\!--", "").replaceAll("\\u003c", "")))
        found.push("a script in a script");
      return "";
    },
  );
  const plain = bare.replace(/<style\b[^>]*>([\s\S]*?)<\/style[^>]*>/gi, (_, source: string) => {
    if (/@import|url\(|expression|</i.test(source)) found.push(`style ${source.slice(0, 80)}`);
    return "";
  });
  for (const [whole, name = "", rest = ""] of plain.matchAll(
    /<\/?([^\s>/]*)((?:"[^"]*"|'[^']*'|[^>"'])*)>?/g,
  )) {
    if (/^<!doctype html>$/i.test(whole)) continue;
    if (!tags.has(name.toLowerCase())) found.push(`tag ${whole.slice(0, 80)}`);
    for (const [, attribute = "", value = ""] of rest.matchAll(
      /([^\s=/"'>]+)(?:\s*=\s*("[^"]*"|'[^']*'|[^\s>]+))?/g,
    )) {
      if (!attributes.test(attribute.toLowerCase()))
        found.push(`attribute ${attribute} in ${whole.slice(0, 80)}`);
      const picture = /^"data:image\/svg\+xml(;base64)?(?:;[a-z0-9=-]+)*,([\s\S]*)"$/i.exec(value);
      if (picture !== null) {
        const svg =
          picture[1] === undefined
            ? decodeURIComponent(picture[2]!)
            : Buffer.from(picture[2]!, "base64").toString("utf8");
        found.push(...intruders(svg));
        // XML takes no control characters: with one in it no picture is shown at all.
        if (CONTROL.test(svg)) found.push("a control character in a still picture");
      } else if (attribute.toLowerCase() === "src") found.push(`src ${value.slice(0, 80)}`);
    }
  }
  return found;
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for
const UNPRINTABLE = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u2028\u2029\u202a-\u202e\u2066-\u2069]/;

describe.each(payloads.map((text) => [text]))("%j", (text) => {
  it("is text in every page", () => {
    for (const page of harmfulPages(text, "light", false)) expect(intruders(page)).toEqual([]);
  });

  it("is text in the terminal", () => {
    for (const report of harmfulReports(harmfulNight(text), text))
      expect(reportText(report)).not.toMatch(UNPRINTABLE);
  });
});

it("the finder of intruders finds them", () => {
  for (const text of payloads.filter((one) => /<[a-z!]/i.test(one))) {
    expect(intruders(`<p class="x">${text}</p>`).length, text).toBeGreaterThan(0);
  }
});

describe("a problem told in the terminal", () => {
  let main = "";
  beforeAll(async () => {
    main = await built("cli/main.js");
  }, BUILD_TIMEOUT_MS);

  it("cannot move its cursor or colour it, whatever keys, fields and names hold", () => {
    const folder = mkdtempSync(join(tmpdir(), "polewright-escapes-"));
    try {
      const evil = "\u001b[2J\u001b]0;x\u0007\u202e";
      writeFileSync(
        join(folder, "mount.json"),
        JSON.stringify({ [evil]: 1, name: evil, site: { [evil]: evil }, kind: evil }),
      );
      writeFileSync(join(folder, "night.csv"), `time,star,hourAngle,declination,${evil}\n`);
      for (const args of [
        ["fit", "night.csv"],
        ["fit", `${evil}.csv`],
        ["fit", "night.csv", "--terms", evil],
        ["explain", evil],
        ["run", `${evil}.ipynb`],
        ["new", `night.csv/${evil}`],
        [evil],
        ["fit", "night.csv", `--${evil}`],
        ["find", "night.csv", "--at", evil],
      ]) {
        const done = spawnSync(process.execPath, [main, ...args], { cwd: folder, encoding: "utf8" });
        expect(done.status, args.join(" ")).not.toBe(0);
        expect(done.stdout + done.stderr, args.join(" ")).not.toMatch(UNPRINTABLE);
      }
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
