/**
 * The shape of the source: code lines by room, files to touch for each addition, import cycles, like places.
 *
 * Code lines are lines that hold a token of the language: no comments, no blank lines, no tables of data. The files of an
 * addition are those that the recipes in DEVELOPERS.md name, with a check that each is there. Exit 1 where a goal is missed.
 */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));
const src = join(root, "src");
const MOST_LINES = 31_000;
/** So many like lines in a row are a duplicate. */
const LIKE_LINES = 6;
/** Tables of figures and names, no code. */
const DATA = new Set([
  "sky/catalogue-data.ts",
  "sky/deep-sky-data.ts",
  "sky/star-names.ts",
  "sky/constellations.ts",
]);

/** What one must touch for an addition, besides its test and a line in DEVELOPERS.md; the goal is the most. */
const additions = [
  {
    what: "term",
    goal: 3,
    files: ["src/mount/terms.ts", "src/mount/model.ts", "data/schema/fit.schema.json"],
  },
  {
    what: "adjuster",
    goal: 4,
    files: ["src/base/adjusters", "src/mount/mount-schema.ts", "src/mount/mount.ts"],
  },
  { what: "fault", goal: 2, files: ["src/fit/faults", "data/schema/fit.schema.json"] },
  {
    what: "question",
    goal: 3,
    files: ["src/answers/fit.ts", "src/answers/list.ts", "data/schema/fit.schema.json"],
  },
  { what: "column", goal: 3, files: ["src/night/sighting-fields.ts", "src/night/sighting.ts"] },
  { what: "picture", goal: 2, files: ["src/plots/residual-sky.ts", "src/plots/plots.ts"] },
];

const files = readdirSync(src, { recursive: true })
  .map(String)
  .filter((path) => path.endsWith(".ts"))
  .sort();
const codeOf = new Map(files.map((path) => [path, codeLines(readFileSync(join(src, path), "utf8"))]));

/** The lines of code, each without its indent. Strings keep what looks like a comment in them. */
function codeLines(text) {
  const bare = text.replace(
    /("(?:[^"\\\n]|\\.)*"|`(?:[^`\\]|\\.)*`)|\/\*[\s\S]*?\*\/|\/\/[^\n]*/g,
    (all, string) => string ?? all.replace(/[^\n]/g, ""),
  );
  return bare
    .split("\n")
    .map((line) => line.trim())
    .filter((line) => line !== "");
}

function importsOf(path) {
  const text = readFileSync(join(src, path), "utf8").replace(/\/\*[\s\S]*?\*\//g, "");
  const at = [...text.matchAll(/^(?:import|export)(?! type\b)[^;]*?from "(\.[^"]+)";/gms)].map(
    ([, from]) => from,
  );
  return at
    .map((from) => normalize(join(dirname(path), from)).replace(/\.js$/, ".ts"))
    .filter((to) => codeOf.has(to));
}

/** Groups of files that import each other in a circle (Tarjan 1972). */
function cycles() {
  const index = new Map();
  const low = new Map();
  const stack = [];
  const found = [];
  const visit = (path) => {
    index.set(path, index.size);
    low.set(path, index.get(path));
    stack.push(path);
    for (const to of importsOf(path)) {
      if (!index.has(to)) visit(to);
      if (stack.includes(to)) low.set(path, Math.min(low.get(path), low.get(to)));
    }
    if (low.get(path) !== index.get(path)) return;
    const circle = stack.splice(stack.indexOf(path));
    if (circle.length > 1) found.push(circle);
  };
  for (const path of files) if (!index.has(path)) visit(path);
  return found;
}

/** Runs of like lines in two places; lines without a letter, imports and exports do not count. */
function duplicates() {
  const seen = new Map();
  const pairs = new Map();
  for (const [path, lines] of codeOf) {
    if (DATA.has(path)) continue;
    const told = withoutImports(lines).filter((line) => /[a-z]/i.test(line));
    for (let k = 0; k + LIKE_LINES <= told.length; k++) {
      const run = told.slice(k, k + LIKE_LINES).join("\n");
      const first = seen.get(run);
      if (first === undefined) seen.set(run, { path, k });
      else if (first.path !== path || k - first.k >= LIKE_LINES) {
        const key = `${first.path} and ${path}, offset ${k - first.k}`;
        if (!pairs.has(key)) pairs.set(key, run.split("\n")[0]);
      }
    }
  }
  return pairs;
}

function withoutImports(lines) {
  return lines
    .join("\n")
    .replace(/^(import|export)(?= type| \{| \*)[^;]*?from "[^"]*";$/gms, "")
    .split("\n");
}

const rooms = new Map();
for (const [path, lines] of codeOf) {
  if (DATA.has(path)) continue;
  const room = path.includes("/") ? path.split("/")[0] : "(top)";
  const sum = rooms.get(room) ?? { files: 0, lines: 0 };
  rooms.set(room, { files: sum.files + 1, lines: sum.lines + lines.length });
}
const total = [...rooms.values()].reduce((sum, room) => sum + room.lines, 0);

console.log("Room          files   code lines");
for (const [room, { files: count, lines }] of [...rooms].sort((a, b) => b[1].lines - a[1].lines))
  console.log(`${room.padEnd(12)} ${String(count).padStart(6)} ${String(lines).padStart(12)}`);
console.log(
  `${"all".padEnd(12)} ${String(codeOf.size).padStart(6)} ${String(total).padStart(12)}   (at most ${MOST_LINES})`,
);

console.log("\nAddition     files to touch   goal");
const missing = additions.flatMap(({ files: named }) =>
  named.filter((path) => !existsSync(join(root, path))),
);
for (const { what, goal, files: named } of additions)
  console.log(`${what.padEnd(12)} ${String(named.length).padStart(14)}   ${goal}   ${named.join(", ")}`);
for (const path of missing) console.log(`  not there: ${path}`);

const circles = cycles();
console.log(`\nImport cycles: ${circles.length}`);
for (const circle of circles) console.log(`  ${circle.join(" → ")}`);

const like = duplicates();
console.log(`\nLike places of ${LIKE_LINES} lines and more: ${like.size}`);
for (const [where, line] of like) console.log(`  ${where}: ${line.slice(0, 80)}`);

const isOver = total > MOST_LINES || circles.length > 0 || missing.length > 0;
process.exitCode = isOver || additions.some(({ goal, files: named }) => named.length > goal) ? 1 : 0;
