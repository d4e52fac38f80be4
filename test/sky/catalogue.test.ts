import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import typescript from "typescript";
import { describe, expect, it } from "vitest";
import { currentCatalogueFiles } from "../../.dev/make-catalogue.mjs";
import { ARCSECOND } from "../../src/angles.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { constellations } from "../../src/sky/constellations.js";
import { deepSkyObjects } from "../../src/sky/deep-sky.js";
import { starNames } from "../../src/sky/star-names.js";
import { icrsVector } from "../../src/sky/stars-near.js";
import { separation } from "../../src/vectors.js";
import { root } from "./support.js";

interface Feature {
  readonly id: number | string;
  readonly properties: Record<string, string | number>;
  readonly geometry: { readonly coordinates: readonly [number, number] };
}

/** From the registry package d3-celestial 0.7.35 (BSD-3-Clause). */
function celestial(file: string): Feature[] {
  return JSON.parse(readFileSync(new URL(`node_modules/d3-celestial/data/${file}`, root), "utf8")).features;
}

const place = (feature: Feature) => ({
  raDeg: feature.geometry.coordinates[0],
  decDeg: feature.geometry.coordinates[1],
});

describe("the star table", () => {
  it("agrees with the modules written from it", () => {
    for (const [path, text] of Object.entries(currentCatalogueFiles())) {
      expect(readFileSync(new URL(path, root), "utf8"), path).toBe(text);
    }
  });

  it("holds 436 stars with one label each and the numbers of a star", () => {
    const stars = catalogueStars();
    expect(stars.length).toBe(436);
    expect(new Set(stars.map((star) => star.label)).size).toBe(436);
    expect(new Set(stars.map((star) => star.hip)).size).toBe(436);
    const abbreviations = new Set(constellations.map(([abbreviation]) => abbreviation));
    for (const star of stars) {
      expect(abbreviations, star.label).toContain(star.constellation);
      expect(star.raDeg >= 0 && star.raDeg < 360 && Math.abs(star.decDeg) <= 90, star.label).toBe(true);
      expect(star.vMag > -2 && star.vMag < 6.5, star.label).toBe(true);
      expect(star.name !== "" || star.vMag <= 3.5, star.label).toBe(true);
    }
  });

  it("stands where the registry package's list puts the stars", () => {
    // 2″, and the list's rounding to 0.0001° in each coordinate.
    const tolerance = 2 * ARCSECOND + Math.hypot(0.18, 0.18) * ARCSECOND;
    // ξ UMa, a double star with an orbit of 60 years: the list has the photocentre of another epoch, 6.5″ away.
    const double = new Map([[55203, 7 * ARCSECOND]]);
    const listed = new Map(
      [...celestial("stars.6.json"), ...celestial("stars.8.json")].map((feature) => [feature.id, feature]),
    );
    for (const star of catalogueStars()) {
      const other = listed.get(star.hip);
      if (other === undefined) throw new Error(`${star.label} is not in the list`);
      const apart = separation(icrsVector(star), icrsVector(place(other)));
      expect(apart, star.label).toBeLessThan(double.get(star.hip) ?? tolerance);
    }
  });

  it("has the Messier objects where the registry package has them", () => {
    // The list's own grain: 1 arcminute, written to 0.0001°.
    const tolerance = 0.01 / 57.3;
    // Whose centre the project takes from a catalogue of clusters instead, as the package's longer list does.
    const designations = new Map([
      [25, "IC 4725"],
      [41, "NGC 2287"],
      [44, "NGC 2632"],
      [50, "NGC 2323"],
      [67, "NGC 2682"],
    ]);
    const longer = new Map(celestial("dsos.14.json").map((feature) => [feature.id, feature]));
    const listed = new Map(celestial("messier.json").map((feature) => [feature.id, feature]));
    const objects = deepSkyObjects().filter((object) => object.messier !== null);
    expect(objects.map((object) => object.messier)).toEqual(
      Array.from({ length: 110 }, (_, index) => index + 1),
    );
    for (const object of objects) {
      const other = listed.get(`M${object.messier}`);
      if (other === undefined) throw new Error(`M ${object.messier} is not in the list`);
      const apart = separation(icrsVector(object), icrsVector(place(other)));
      const designation = designations.get(object.messier!);
      if (designation !== undefined) {
        expect(apart, object.label).toBeGreaterThan(tolerance);
        const centre = longer.get(designation);
        if (centre === undefined) throw new Error(`${designation} is not in the longer list`);
        // 2.5 arcminutes: where lists put the centre of a loose cluster a quarter of a degree across.
        expect(separation(icrsVector(object), icrsVector(place(centre))), designation).toBeLessThan(
          2.5 / 60 / 57.3,
        );
      } else expect(apart, object.label).toBeLessThan(tolerance);
    }
  });

  it("has the showpieces outside Messier's list where the registry package has them, each once", () => {
    const known = new Map(celestial("dsos.20.json").map((feature) => [feature.id, feature]));
    // Under what other name the package has it.
    const others = new Map([
      ["LMC", "PGC 17223"],
      ["Mel 20", "Cr 39"],
      ["Mel 25", "C 41"],
      ["Mel 111", "Cr 256"],
    ]);
    const showpieces = deepSkyObjects().filter((object) => object.messier === null);
    expect(showpieces.length).toBeGreaterThan(80);
    for (const object of showpieces) {
      // The package has a faint galaxy of its neighbourhood in its place: 12h36m21s +25°59′ (RC3, de Vaucouleurs 1991).
      const other =
        object.designation === "NGC 4565"
          ? { geometry: { coordinates: [189.0875, 25.9833] } }
          : known.get(others.get(object.designation) ?? object.designation);
      if (other === undefined) throw new Error(`${object.label} is not in the list`);
      const apart = separation(icrsVector(object), icrsVector(place(other))) * 57.3 * 60;
      expect(apart, object.label).toBeLessThan(Math.max(1, object.longArcmin! / 10) + 3);
    }
    // No object twice, and none of Messier's again: 3′ apart at least, but for the cluster round its own nebula's centre.
    const all = deepSkyObjects();
    for (const object of showpieces) {
      for (const other of all) {
        if (other === object) continue;
        expect(
          separation(icrsVector(object), icrsVector(other)) * 57.3 * 60,
          `${object.label} ${other.label}`,
        ).toBeGreaterThan(3);
      }
    }
  });

  it("names the constellations as the registry package does", () => {
    const listed = new Map(
      celestial("constellations.json").map((feature) => [feature.id, feature.properties]),
    );
    // Two slips of the list: Corona Austrina for Australis, and the genitive of Crux.
    const differing = new Map([
      ["CrA", "Coronae Australis"],
      ["Cru", "Crucis"],
    ]);
    expect(constellations.length).toBe(88);
    for (const [abbreviation, , genitive] of constellations) {
      expect(genitive, abbreviation).toBe(differing.get(abbreviation) ?? listed.get(abbreviation)?.gen);
    }
  });
});

describe("the literal type of star names", () => {
  it("is the list of names, and tells a misspelt one, under the notebook kernel's TypeScript 5.0", () => {
    const source = readFileSync(new URL("src/sky/star-names.ts", root), "utf8");
    const declaration = typescript.transpileDeclaration(source, {}).outputText;
    const union = /StarName\s*=([^;]+);/.exec(declaration)?.[1] ?? "";
    const literals = [...union.matchAll(/"([^"]+)"/g)].map((match) => match[1]);
    expect(literals).toEqual(starNames);

    const kernelRequire = createRequire(createRequire(import.meta.url).resolve("tslab/package.json"));
    const old = kernelRequire("@tslab/typescript-for-tslab") as typeof typescript;
    expect(old.version.startsWith("5.0")).toBe(true);
    const files = new Map([
      ["/star-names.d.ts", declaration],
      [
        "/cell.ts",
        'import type { StarName } from "./star-names";\nexport const right: StarName = "Sirius";\nexport const wrong: StarName = "Sirus";\n',
      ],
    ]);
    const options = {
      noLib: true,
      strict: true,
      moduleResolution: old.ModuleResolutionKind.Node10,
      types: [],
    };
    const host = {
      ...old.createCompilerHost(options),
      getSourceFile: (name: string) => {
        const text = files.get(name);
        return text === undefined ? undefined : old.createSourceFile(name, text, old.ScriptTarget.ES2022);
      },
      fileExists: (name: string) => files.has(name),
      readFile: (name: string) => files.get(name),
      getCurrentDirectory: () => "/",
    };
    const program = old.createProgram(["/cell.ts"], options, host);
    const messages = program
      .getSemanticDiagnostics(program.getSourceFile("/cell.ts"))
      .map((fault) => old.flattenDiagnosticMessageText(fault.messageText, " "));
    expect(messages).toEqual([expect.stringMatching(/"Sirus"' is not assignable .*Did you mean '"Sirius"'/)]);
  });
});
