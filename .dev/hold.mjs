/**
 * Holds two builds against each other: every question on the demonstration nights and on spoilt ones, as text and JSON.
 *
 * node .dev/hold.mjs OLD_DIST [NEW_DIST] prints what differs; exit 1 where something does.
 */
import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { isDeepStrictEqual } from "node:util";

const root = new URL("..", import.meta.url).pathname;
const [older, newer = join(root, "dist")] = process.argv.slice(2);

/** A folder with the demonstration nights, and nights that are spoilt in the usual ways. */
function ground() {
  const folder = mkdtempSync(join(tmpdir(), "polewright-hold-"));
  for (const night of ["first-light", "after-turning"])
    cpSync(join(root, "data", night), join(folder, night), { recursive: true });
  const read = (path) => readFileSync(join(folder, path), "utf8");
  const write = (path, text) => writeFileSync(join(folder, path), text);
  const mount = read("first-light/mount.json");
  const night = read("first-light/night.csv");
  write("reversed.json", mount.replace('"sense": -1', '"sense": 1'));
  const lines = night.split("\n");
  const header = lines.findIndex((line) => line.startsWith("time"));
  write("few.csv", lines.slice(0, header + 5).join("\n"));
  write("empty.csv", lines.slice(0, header + 1).join("\n"));
  write("cut.csv", night.slice(0, -20));
  write("no-zone.csv", night.replaceAll("Z,", ","));
  write("drifts.csv", "hourAngleDeg,declinationDeg,minutes,driftNorthArcsec\n5,0,10,26\n-70,5,10,-9\n");
  return folder;
}

const N = "first-light/night.csv";
const AT = "2026-03-14T20:00:00Z";
const calls = [
  `fit ${N}`,
  `fit first-light`,
  `fit after-turning/night.csv`,
  `fit ${N} --terms polarAltitude,polarEast,cone`,
  `fit ${N} --terms coen`,
  `fit ${N} --as-entered`,
  `fit ${N} --trust-clock`,
  `fit ${N} --mount reversed.json`,
  "fit few.csv --mount first-light/mount.json",
  "fit empty.csv --mount first-light/mount.json",
  "fit cut.csv --mount first-light/mount.json",
  "fit no-zone.csv --mount first-light/mount.json",
  "fit none.csv",
  `turns ${N}`,
  `turns ${N} --brief`,
  `turns ${N} --azimuth-by tilt --aim refracted`,
  "turns after-turning/night.csv",
  `turns ${N} --mount reversed.json`,
  "turns few.csv --mount first-light/mount.json",
  "turns empty.csv --mount first-light/mount.json",
  `rounds ${N} after-turning/night.csv --turned after-turning/turned.csv`,
  `rounds ${N} --turned after-turning/turned.csv`,
  `rounds ${N} after-turning/night.csv --turned none.csv`,
  `plan --from ${AT} --mount first-light/mount.json`,
  `plan --from ${AT} --night ${N} --stars 5 --teach`,
  `plan --from ${AT} --night ${N} --to-learn cone`,
  `plan --from 2026-03-14T11:00:00Z --night ${N}`,
  `plan --from 2026-03-14T11:00:00Z --night ${N} --daylight`,
  "plan --from tomorrow",
  `find ${N} --at ${AT} Sirius|M 42|Jupiter`,
  `find ${N} --at ${AT} Sirius --now 3121,-1591`,
  `find ${N} --at ${AT} Sirius --now what`,
  `find ${N} --at ${AT} Nothing`,
  `find ${N} --at ${AT}`,
  `find ${N} --at ${AT} --until 2026-03-14T22:00:00Z`,
  `find ${N} --at ${AT} --until 2026-03-14T22:00:00Z M 42`,
  `find few.csv --mount first-light/mount.json --at ${AT} Sirius`,
  `find ${N} --mount reversed.json --at ${AT} Sirius`,
  "drift drifts.csv --mount first-light/mount.json",
  `drift drifts.csv --night ${N}`,
  `exposure ${N}`,
  `exposure ${N} Sirius|M 42 --at ${AT} --seconds 20`,
  `exposure ${N} --guided --field 0.5`,
  `exposure ${N} Sirius`,
  `exposure few.csv --mount first-light/mount.json`,
  `keep ${N} --out kept.json`,
  `keep ${N} --out kept.json`,
  `keep ${N} --mount reversed.json --out kept2.json`,
  `compare ${N} after-turning/night.csv`,
  `compare kept.json after-turning/night.csv --mount first-light/mount.json`,
  `find empty.csv --model kept.json --mount first-light/mount.json --at ${AT} Sirius`,
  `find few.csv --model kept.json --mount first-light/mount.json --at ${AT} Sirius`,
  `plan --from ${AT} --model kept.json --mount first-light/mount.json`,
  `daylight --at 2026-03-14T09:00:00Z --mount first-light/mount.json`,
  `daylight --at 2026-03-14T09:00:00Z --mount first-light/mount.json --tilt 29.6 --finder 5`,
  ...["cone", "squareness", "polarAltitude", "hourAngleZero", "cones"].map((term) => `explain ${term}`),
  `explain cone --night ${N}`,
];

/** Words are parted by spaces and bars; `M 42` is one word. */
const words = (call) =>
  call
    .replaceAll("M ", "M_")
    .split(/[ |]/)
    .map((word) => word.replace("M_", "M "));

function told(dist, folder, call, json) {
  const args = [join(resolve(dist), "cli/main.js"), ...words(call), ...(json ? ["--json"] : [])];
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { cwd: folder, encoding: "utf8" });
  if (!json) return { status, stdout, stderr };
  try {
    return { status, json: JSON.parse(stdout), stderr };
  } catch {
    return { status, stdout, stderr };
  }
}

const folders = [ground(), ground()];
let differing = 0;
for (const call of calls)
  for (const json of [false, true]) {
    if (json && / --(out|brief)/.test(call)) continue;
    const [before, after] = [older, newer].map((dist, k) => told(dist, folders[k], call, json));
    // Notes may be more than before, not others; keys may be added.
    if (isDeepStrictEqual(before, after)) continue;
    differing++;
    console.log(`\n== ${call}${json ? " --json" : ""}`);
    for (const key of new Set([...Object.keys(before), ...Object.keys(after)]))
      if (!isDeepStrictEqual(before[key], after[key])) console.log(difference(before[key], after[key], key));
  }
console.log(`${calls.length} calls, ${differing} answers differ`);
for (const folder of folders) rmSync(folder, { recursive: true });
process.exitCode = differing === 0 ? 0 : 1;

function difference(a, b, path) {
  if (isDeepStrictEqual(a, b)) return "";
  if (typeof a === "object" && typeof b === "object" && a !== null && b !== null)
    return [...new Set([...Object.keys(a), ...Object.keys(b)])]
      .map((key) => difference(a[key], b[key], `${path}.${key}`))
      .filter((line) => line !== "")
      .join("\n");
  if (typeof a === "string" && typeof b === "string" && a.includes("\n")) {
    const [olds, news] = [a.split("\n"), b.split("\n")];
    return [
      ...olds.filter((line) => !news.includes(line)).map((line) => `  - ${line}`),
      ...news.filter((line) => !olds.includes(line)).map((line) => `  + ${line}`),
    ].join("\n");
  }
  return `  ${path}: ${String(JSON.stringify(a)).slice(0, 300)} -> ${String(JSON.stringify(b)).slice(0, 300)}`;
}
