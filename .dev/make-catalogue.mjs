// Writes the catalogue's TypeScript from data/stars.csv, data/messier.csv and data/showpieces.csv.
// Run: node .dev/make-catalogue.mjs
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { parse } from "csv-parse/sync";

const root = new URL("../", import.meta.url);

const readTable = (text) =>
  parse(text, { columns: true, comment: "#", comment_no_infix: true, skip_empty_lines: true });

const quoted = (text) => JSON.stringify(text);

/** A number as the table writes it, without idle zeros, and never empty. */
function figure(text, place) {
  const value = Number(text);
  if (text === "" || !Number.isFinite(value)) throw new Error(`${place}: not a number: "${text}"`);
  return String(value);
}

const greek = {
  α: "alpha",
  β: "beta",
  γ: "gamma",
  δ: "delta",
  ε: "epsilon",
  ζ: "zeta",
  η: "eta",
  θ: "theta",
  ι: "iota",
  κ: "kappa",
  λ: "lambda",
  μ: "mu",
  ν: "nu",
  ξ: "xi",
  ο: "omicron",
  π: "pi",
  ρ: "rho",
  σ: "sigma",
  τ: "tau",
  υ: "upsilon",
  φ: "phi",
  χ: "chi",
  ψ: "psi",
  ω: "omega",
};

/** How a star is shown: its name, else its Bayer or Flamsteed designation, else its Hipparcos number. */
const label = (star) => star.name || star.bayer || star.flamsteed || `HIP ${star.hip}`;

/** The names that complete in an editor: every label and, where that has a Greek letter, the letter written out. */
function completions(stars) {
  const labels = stars.map(label);
  const spelt = labels.filter((text) => greek[text[0]]).map((text) => greek[text[0]] + text.slice(1));
  const all = [...labels, ...spelt];
  const twice = all.filter((text, index) => all.indexOf(text) !== index);
  if (twice.length > 0) throw new Error(`names given twice: ${twice.join(", ")}`);
  return all.sort((a, b) => (a < b ? -1 : 1));
}

const head = (source) =>
  `// Written by .dev/make-catalogue.mjs from ${source}; change that table, not this file.\n`;

/** The files that the three tables make: their path from the root, and their text. */
export function catalogueFiles(starsText, messierText, showpiecesText) {
  const stars = readTable(starsText);
  const starRow = (star) => {
    const numbers = [
      star.vMag,
      star.raDeg,
      star.decDeg,
      star.pmRaCosDecMasYr,
      star.pmDecMasYr,
      star.parallaxMas,
      star.radialVelocityKmS,
    ];
    const texts = [star.name, star.bayer, star.flamsteed, star.constellation].map(quoted);
    return `  [${[figure(star.hip, "hip"), ...texts, ...numbers.map((text) => figure(text, `HIP ${star.hip}`))].join(", ")}],`;
  };
  const names = completions(stars);

  const optional = (text, place) => (text === "" ? "null" : figure(text, place));
  const objectRow = (object) => {
    const place = object.designation || `M ${object.messier}`;
    return `  [${[
      optional(object.messier ?? "", place),
      quoted(object.designation),
      quoted(object.otherNames ?? ""),
      quoted(object.commonName),
      quoted(object.kind),
      figure(object.vMag, place),
      optional(object.longArcmin, place),
      optional(object.shortArcmin, place),
      figure(object.raDeg, place),
      figure(object.decDeg, place),
    ].join(", ")}],`;
  };

  return {
    "src/sky/catalogue-data.ts": `${head("data/stars.csv")}
/** A row of the star table: see data/stars.csv for units and sources. */
export type StarRow = readonly [
  hip: number,
  name: string,
  bayer: string,
  flamsteed: string,
  constellation: string,
  vMag: number,
  raDeg: number,
  decDeg: number,
  pmRaCosDecMasYr: number,
  pmDecMasYr: number,
  parallaxMas: number,
  radialVelocityKmS: number,
];

/** The star table, in order of Hipparcos number. */
export const starRows: readonly StarRow[] = [
${stars.map(starRow).join("\n")}
];
`,
    "src/sky/star-names.ts": `${head("data/stars.csv")}
/**
 * The names that an editor completes: every star's label (its IAU name, else its Bayer or Flamsteed designation, else
 * its Hipparcos number) and, for a label with a Greek letter, the same with the letter written out. Look-up by
 * {@link findStar} takes many more spellings.
 */
export type StarName =
${names.map((name) => `  | ${quoted(name)}`).join("\n")};

/** Every {@link StarName}, in order. */
export const starNames: readonly StarName[] = [
${names.map((name) => `  ${quoted(name)},`).join("\n")}
];
`,
    "src/sky/deep-sky-data.ts": `${head("data/messier.csv and data/showpieces.csv").replace("that table", "those tables")}
/** A row of either list: see data/messier.csv and data/showpieces.csv for units and sources. */
export type DeepSkyRow = readonly [
  messier: number | null,
  designation: string,
  otherNames: string,
  commonName: string,
  kind: string,
  vMag: number,
  longArcmin: number | null,
  shortArcmin: number | null,
  raDeg: number,
  decDeg: number,
];

/** Messier's list, in order. */
export const messierRows: readonly DeepSkyRow[] = [
${readTable(messierText).map(objectRow).join("\n")}
];

/** Showpieces outside Messier's list. */
export const showpieceRows: readonly DeepSkyRow[] = [
${readTable(showpiecesText).map(objectRow).join("\n")}
];
`,
  };
}

/** The files as the tables in data/ make them now. */
export function currentCatalogueFiles() {
  const read = (name) => readFileSync(new URL(name, root), "utf8");
  return catalogueFiles(read("data/stars.csv"), read("data/messier.csv"), read("data/showpieces.csv"));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  for (const [path, text] of Object.entries(currentCatalogueFiles()))
    writeFileSync(new URL(path, root), text);
}
