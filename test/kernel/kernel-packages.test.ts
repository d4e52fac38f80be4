import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import {
  type Fetch,
  fetchPackages,
  missingPackages,
  PACKAGES_FOLDER,
} from "../../src/kernel/kernel-packages.js";

const { dependencies, devDependencies, peerDependencies, peerDependenciesMeta } = JSON.parse(
  readFileSync(new URL("../../package.json", import.meta.url), "utf8"),
);

describe("the packages that only notebooks need", () => {
  it("are all here, in the versions that are fetched elsewhere, and nobody else gets them unasked", () => {
    expect(missingPackages()).toEqual([]);
    expect(peerDependencies.tslab).toBeDefined();
    for (const [name, version] of Object.entries(peerDependencies)) {
      expect(devDependencies[name]).toBe(version);
      expect(dependencies[name]).toBeUndefined();
      expect(peerDependenciesMeta[name]).toEqual({ optional: true });
    }
  });

  it("are fetched beside the kernel's script, and only where they are missing", () => {
    const fetched: unknown[] = [];
    const told: string[] = [];
    const fetch: Fetch = (...asked) => {
      fetched.push(asked);
      return 0;
    };
    fetchPackages((text) => told.push(text), { fetch });
    expect([fetched, told]).toEqual([[], []]);
    fetchPackages((text) => told.push(text), { missing: ["tslab@1.0.22"], fetch });
    expect(fetched).toEqual([[PACKAGES_FOLDER, ["tslab@1.0.22"]]]);
    expect(told).toEqual([expect.stringContaining("tslab@1.0.22")]);
  });

  it("say what to do where they cannot be fetched", () => {
    const failing = { missing: ["tslab@1.0.22"], fetch: () => 1 };
    expect(() => fetchPackages(() => {}, failing)).toThrowError(
      expect.objectContaining({
        code: "kernel-packages",
        message: expect.stringMatching(/registry.*By hand: npm install --prefix .*tslab@1\.0\.22/),
      }),
    );
  });
});
