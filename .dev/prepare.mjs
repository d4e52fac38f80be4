/**
 * What npm calls after an installation here and before it packs: builds, where the packages to build with are there.
 * `npm ci --omit=dev` leaves them out: then what is built already stays as it is, and what is missing is said.
 */
import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";

const at = (path) => fileURLToPath(new URL(`../${path}`, import.meta.url));

if (["typescript", "rolldown"].every((name) => existsSync(at(`node_modules/${name}/package.json`))))
  await (await import("./build.mjs")).build();
else if (!existsSync(at("dist/index.js")))
  console.error("Not built: the development packages were left out. `npm ci` and `npm run build` build it.");
