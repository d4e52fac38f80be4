import { describe, expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { InputError } from "../../src/errors.js";
import { catalogueStars } from "../../src/sky/catalogue.js";
import { constellations } from "../../src/sky/constellations.js";
import { deepSkyObjects, findDeepSky, findTarget, tryFindDeepSky } from "../../src/sky/deep-sky.js";
import { findStar, suggestStars, tryFindStar } from "../../src/sky/find-star.js";
import { greekLetters } from "../../src/sky/greek-letters.js";
import { starNames } from "../../src/sky/star-names.js";
import { starsNear } from "../../src/sky/stars-near.js";

function refused(ask: () => unknown): InputError {
  try {
    ask();
  } catch (error) {
    if (error instanceof InputError) return error;
    throw error;
  }
  throw new Error("nothing was refused");
}

describe("findStar", () => {
  it.each([
    // Hipparcos numbers: ESA 1997.
    ["Rigil Kentaurus", 71683],
    ["rigil_kentaurus", 71683],
    ["RIGILKENTAURUS", 71683],
    ["α Cen", 71683],
    ["alpha Cen", 71683],
    ["alf Cen", 71683],
    ["Alpha Centauri", 71683],
    ["ALPHA-CENTAURI", 71683],
    ["alpha1 Cen", 71683],
    ["α¹ Cen", 71683],
    ["alf1Cen", 71683],
    ["α² Centauri", 71681],
    ["alpha2 cen", 71681],
    ["HIP 71683", 71683],
    ["hip71683", 71683],
    ["HIP-071683", 71683],
    [" 71683 ", 71683],
    ["Toliman", 71681],
    ["16 Boo", 69673],
    ["16 Bootis", 69673],
    ["16 Boötis", 69673],
    ["alpha bootes", 69673],
    ["arcturus", 69673],
    ["Árcturus", 69673],
    ["κ CMa", 32759],
    ["kappa Canis Majoris", 32759],
    ["µ Vel", 52727], // the micro sign, as keyboards have it
    ["ϑ Car", 52419], // the theta symbol
    ["Β CEN", 68702], // a capital beta
    ["σ Sgr", 92855],
    ["Σ Sgr", 92855],
    ["ς Sgr", 92855],
    ["o Cet", 10826],
    ["omicron Ceti", 10826],
    ["N Vel", 46701],
    ["p Carinae", 51576],
    ["gamma2 Velorum", 39953],
    ["eta Serpentis", 89962],
  ])("finds %s", (text, hip) => {
    expect(findStar(text).hip).toBe(hip);
  });

  it("finds every star by its label, its designations and its number, in every spelling", () => {
    const endings = new Map(constellations.map((names) => [names[0], names]));
    const letters = new Map(greekLetters.map((names) => [names[0], names]));
    for (const star of catalogueStars()) {
      expect(findStar(star.label)).toBe(star);
      expect(findStar(`HIP ${star.hip}`)).toBe(star);
      if (!/^[A-Za-z] /.test(star.label)) expect(findStar(star.label.toUpperCase())).toBe(star);
      for (const ending of endings.get(star.constellation)!) {
        if (star.flamsteed !== "") expect(findStar(`${star.flamsteed.split(" ")[0]} ${ending}`)).toBe(star);
        if (star.bayer === "") continue;
        const first = star.bayer.split(" ")[0]!;
        for (const letter of letters.get(first[0]!) ?? [first[0]!]) {
          expect(findStar(`${letter}${first.slice(1)} ${ending}`)).toBe(star);
        }
      }
    }
  });

  it("finds every name that an editor completes", () => {
    for (const name of starNames) expect(tryFindStar(name), name).toBeDefined();
  });

  it("minds the case of a Latin letter: p Car is not P Car, N Vel is not n Vel", () => {
    expect(tryFindStar("P Car")).toBeUndefined();
    expect(tryFindStar("n Vel")).toBeUndefined();
  });

  it("takes a designation without its number as the brightest", () => {
    expect(findStar("γ Leo").name).toBe("Algieba");
    expect(findStar("beta Sgr").name).toBe("Arkab Prior");
  });

  it("says so where a name's letters are no UTF-8", () => {
    const error = refused(() => findStar("\uFFFD Cen"));
    expect(error.faults[0]).toMatchObject({ code: "unknown-star" });
    expect(error.message).toContain("save the file as UTF-8");
    expect(refused(() => findStar("Siriuss")).message).not.toContain("UTF-8");
  });

  it.each([
    ["Betelguese", "Betelgeuse"],
    ["Rigel Kentaurus", "Rigil Kentaurus"],
    ["Aldeberan", "Aldebaran"],
    ["Acherna", "Achernar"],
    ["Sirus", "Sirius"],
    ["alpha Centuari", "Rigil Kentaurus"],
    ["α Cne", "Acubens"],
    ["Fomalhout", "Fomalhaut"],
    ["Denebol", "Denebola"],
  ])("proposes for %s: %s", (text, meant) => {
    expect(suggestStars(text).map((star) => star.label)).toContain(meant);
    const error = refused(() => findStar(text));
    expect(error.faults).toHaveLength(1);
    expect(error.faults[0]).toMatchObject({ code: "unknown-star", found: text });
    expect(error.message).toContain(`Did you mean `);
    expect(error.message).toContain(meant);
  });

  it.each([
    "",
    "   ",
    "qqqqqqqqqq",
    "HIP 1",
    "0",
    "-71683.5",
    "α",
    "Κ",
    "\u0000",
    "__proto__",
    "constructor",
  ])("refuses %j without inventing", (text) => {
    expect(tryFindStar(text)).toBeUndefined();
    const error = refused(() => findStar(text));
    expect(error.code).toBe("unknown-star");
    expect(error.message.length).toBeLessThan(600);
  });

  it("shortens what was found when that is long", () => {
    const error = refused(() => findStar("x".repeat(10_000)));
    expect(error.faults[0]!.found!.length).toBeLessThan(70);
  });

  it("gives no more proposals than asked for", () => {
    expect(suggestStars("alpha", 5)).toHaveLength(5);
    expect(suggestStars("alpha", 0)).toHaveLength(0);
  });
});

describe("starsNear", () => {
  it("finds Alcor beside Mizar, 11.8′ away", () => {
    // Separation of Mizar and Alcor: 708.5″ (common handbooks), here to 1″ of J2000.0.
    const near = starsNear(findStar("Mizar"), 0.25 * DEGREE);
    expect(near.map(({ star }) => star.label)).toEqual(["Mizar", "Alcor"]);
    expect((near[1]!.separation / DEGREE) * 3600).toBeCloseTo(708.5, -1);
  });

  it("finds every star for a radius of half a turn, nearest first", () => {
    const all = starsNear({ raDeg: 10, decDeg: -90 }, Math.PI);
    expect(all).toHaveLength(436);
    const distances = all.map((near) => near.separation);
    expect([...distances].sort((a, b) => a - b)).toEqual(distances);
    expect(all[0]!.star.name).toBe("Polaris Australis");
  });

  it("finds a star at its own place for a radius of nothing", () => {
    for (const star of catalogueStars()) expect(starsNear(star, 0)[0]?.star, star.label).toBe(star);
  });
});

describe("the deep sky", () => {
  it.each([
    // Numbers in Messier's list and the New General Catalogue (Dreyer 1888).
    ["M 31", 31],
    ["m31", 31],
    ["M031", 31],
    ["Messier 31", 31],
    ["NGC 224", 31],
    ["ngc224", 31],
    ["NGC 0224", 31],
    ["Andromeda Galaxy", 31],
    ["the andromeda galaxy", 31],
    ["Andromeda", 31],
    ["Pleiades", 45],
    ["the Pleiades", 45],
    ["NGC 5194", 51],
    ["NGC 5195", 51],
    ["NGC 650", 76],
    ["NGC-651", 76],
    ["IC 4725", 25],
    ["Cat's Eye Galaxy", 94],
    ["bodes galaxy", 81],
    ["Winnecke 4", 40],
  ])("finds %s", (text, messier) => {
    expect(findDeepSky(text).messier).toBe(messier);
  });

  it("finds every object by its label's parts", () => {
    for (let messier = 1; messier <= 110; messier++) {
      const object = findDeepSky(`M ${messier}`);
      expect(object.messier).toBe(messier);
      if (object.commonName !== "") expect(findDeepSky(object.commonName)).toBe(object);
    }
  });

  it.each([
    // Names and numbers in common use: New General and Index Catalogue (Dreyer 1888, 1895), Melotte 1915, Collinder 1931.
    ["47 Tuc", "NGC 104 (47 Tucanae)"],
    ["47 Tucanae", "NGC 104 (47 Tucanae)"],
    ["omega Cen", "NGC 5139 (Omega Centauri)"],
    ["ω Cen", "NGC 5139 (Omega Centauri)"],
    ["LMC", "LMC (Large Magellanic Cloud)"],
    ["Jewel Box", "NGC 4755 (Jewel Box)"],
    ["the Tarantula", "NGC 2070 (Tarantula Nebula)"],
    ["30 Doradus", "NGC 2070 (Tarantula Nebula)"],
    ["NGC 0253", "NGC 253 (Sculptor Galaxy)"],
    ["Hyades", "Mel 25 (Hyades)"],
    ["Collinder 399", "Cr 399 (Coathanger)"],
    ["Melotte 25", "Mel 25 (Hyades)"],
    ["Cr 399", "Cr 399 (Coathanger)"],
    ["Cat's Eye Nebula", "NGC 6543 (Cat's Eye Nebula)"],
    ["Cat's Eye", undefined],
  ])("finds the showpiece %s", (text, label) => {
    expect(tryFindDeepSky(text)?.label).toBe(label);
  });

  it("finds every showpiece by its label's parts and its other names, and none of them is a star's", () => {
    for (const object of deepSkyObjects()) {
      const names = [object.designation.split("/")[0]!, object.commonName, ...object.otherNames];
      for (const name of names.filter((text) => text !== "")) {
        expect(findDeepSky(name), name).toBe(object);
        expect(tryFindStar(name), name).toBeUndefined();
      }
    }
  });

  it("refuses what it has not, with a proposal", () => {
    const error = refused(() => findDeepSky("Orion Nebulla"));
    expect(error.faults).toHaveLength(1);
    expect(error.code).toBe("unknown-object");
    expect(error.message).toContain("M 42 (Orion Nebula)");
    expect(tryFindDeepSky("M 111")).toBeUndefined();
    expect(tryFindDeepSky("")).toBeUndefined();
  });

  it("finds a target among stars and objects alike", () => {
    expect(findTarget("M 42").label).toBe("M 42 (Orion Nebula)");
    expect(findTarget("Achernar").label).toBe("Achernar");
    const error = refused(() => findTarget("Achenar"));
    expect(error.code).toBe("unknown-object");
    expect(error.message).toContain("Achernar");
  });
});
