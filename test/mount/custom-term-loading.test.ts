import { createRequire } from "node:module";
import { expect, it } from "vitest";
import { firstMount } from "../../src/files/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";

it("loads mathjs only for a mount with terms of its own, because loading it takes a third of a second", () => {
  const { cache } = createRequire(import.meta.url);
  const isLoaded = () => Object.keys(cache).some((path) => path.includes("/node_modules/mathjs/"));
  parseMount(firstMount);
  expect(isLoaded()).toBe(false);
  parseMount({ ...firstMount, customTerms: [{ name: "customFork", hourAngle: "cos(hourAngle)" }] });
  expect(isLoaded()).toBe(true);
});
