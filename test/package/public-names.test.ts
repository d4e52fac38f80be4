/** The package's public names and kinds: a change here is a change for everyone who uses it. */
import { readFileSync } from "node:fs";
import { expect, it } from "vitest";
import * as library from "../../src/index.js";

it("are those of the committed list", async () => {
  const values = Object.entries(library).map(([name, value]) => `${name}: ${typeof value}`);
  const text = ["core", "index"]
    .map((name) => readFileSync(new URL(`../../src/${name}.ts`, import.meta.url), "utf8"))
    .join("\n");
  const types: string[] = [];
  for (const [, whole, list] of text.matchAll(/export (type )?\{([^}]*)\}/g))
    for (const entry of list!.split(",").map((part) => part.trim()))
      if (entry !== "" && (whole || entry.startsWith("type "))) types.push(entry.replace(/^type /, ""));
  const names = [...values.sort(), "", ...types.sort().map((name) => `type ${name}`), ""].join("\n");
  await expect(names).toMatchFileSnapshot("public-names.txt");
});
