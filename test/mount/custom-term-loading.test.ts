import { execFileSync } from "node:child_process";
import { expect, it } from "vitest";
import { firstMount } from "../../src/mount/first-mount.js";

/** Whether mathjs is loaded, in a process of its own, before and after reading a mount. */
function mathjsLoaded(mount: unknown): boolean[] {
  const program = `
    import { createRequire } from "node:module";
    import { parseMount } from "polewright";
    const loaded = () => Object.keys(createRequire(import.meta.url).cache).some((path) => path.includes("/node_modules/mathjs/"));
    const before = loaded();
    parseMount(${JSON.stringify(mount)});
    console.log(JSON.stringify([before, loaded()]));`;
  const output = execFileSync(process.execPath, ["--input-type=module", "--eval", program], {
    encoding: "utf8",
  });
  return JSON.parse(output);
}

it("loads mathjs only for a mount with terms of its own, because loading it takes a third of a second", () => {
  expect(mathjsLoaded(firstMount)).toEqual([false, false]);
  const own = { ...firstMount, customTerms: [{ name: "customFork", hourAngle: "cos(hourAngle)" }] };
  expect(mathjsLoaded(own)).toEqual([false, true]);
});
