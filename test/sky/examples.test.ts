import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import * as catalogue from "../../src/sky/catalogue.js";
import * as deepSky from "../../src/sky/deep-sky.js";
import * as findStar from "../../src/sky/find-star.js";
import * as horizonFrame from "../../src/sky/horizon-frame.js";
import * as nameKey from "../../src/sky/name-key.js";
import * as observe from "../../src/sky/observe.js";
import * as refraction from "../../src/sky/refraction.js";
import * as siderealTime from "../../src/sky/sidereal-time.js";
import * as skyFrame from "../../src/sky/sky-frame.js";
import * as skyOverNight from "../../src/sky/sky-over-night.js";
import * as starsNear from "../../src/sky/stars-near.js";
import * as sunAndMoon from "../../src/sky/sun-and-moon.js";
import * as time from "../../src/sky/time.js";
import * as variableStars from "../../src/sky/variable-stars.js";
import * as zone from "../../src/sky/zone.js";
import { ridgeSchool, root } from "./support.js";

const scope: Record<string, unknown> = {
  ...catalogue,
  ...deepSky,
  ...findStar,
  ...horizonFrame,
  ...nameKey,
  ...observe,
  ...refraction,
  ...siderealTime,
  ...skyFrame,
  ...skyOverNight,
  ...starsNear,
  ...sunAndMoon,
  ...time,
  ...variableStars,
  ...zone,
};

/** The examples of a file's comments, each as its lines. */
function examples(text: string): string[] {
  return [...text.matchAll(/@example\s+\* ```ts\n([\s\S]*?)\* ```/g)].map((match) =>
    match[1]!.replace(/^\s*\* ?/gm, ""),
  );
}

const files = readdirSync(new URL("src/sky/", root)).filter((name) => name.endsWith(".ts"));
const cases = files.flatMap((file) =>
  examples(readFileSync(new URL(`src/sky/${file}`, root), "utf8")).map((code, index) => [
    `${file} ${index + 1}`,
    code,
  ]),
);

describe("the examples in the comments", () => {
  it("are there", () => {
    expect(cases.length).toBeGreaterThan(12);
  });

  // A line `expression; // value` is run, and must give the value: a number to the digits shown.
  it.each(cases)("%s", (_, code) => {
    const seen: { found: unknown; shown: string }[] = [];
    const body = code!.replace(/^(?!const )(.+?); \/\/ (.+)$/gm, (_line, expression, shown) => {
      return `check(${expression}, ${JSON.stringify(shown)});`;
    });
    const names = Object.keys(scope).filter((name) => !new RegExp(`const ${name}\\b`).test(body));
    const ownSite = /const site\b/.test(body) ? [] : ["site"];
    const run = new Function("check", ...names, ...ownSite, body);
    run(
      (found: unknown, shown: string) => seen.push({ found, shown }),
      ...names.map((name) => scope[name]),
      ridgeSchool,
    );
    expect(seen.length + Number(/^const seen = observeIn/m.test(code!))).toBeGreaterThan(0);
    for (const { found, shown } of seen) {
      const value = /^("[^"]*"|\[.*?\]|\{.*?\}|-?[\d.]+|true|false)/.exec(shown)?.[1] ?? "";
      const given = new Function(`return (${value});`)();
      if (typeof given === "number") {
        expect(found).toBeCloseTo(given, value.split(".")[1]?.length ?? 0);
      } else expect(found).toEqual(given);
    }
  });
});
