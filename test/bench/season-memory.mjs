// Reduces and fits a season once, in a process of its own, and prints what it took.
import { library, season, twelveTerms } from "./cases.mjs";

const lib = await library();
const night = season(lib, Number(process.argv[2]));
globalThis.gc?.();
const before = process.memoryUsage.rss();
const began = performance.now();
const fit = lib.fitMount(night, { terms: twelveTerms });
const milliseconds = performance.now() - began;
console.log(
  JSON.stringify({
    milliseconds,
    peakMegabytes: process.resourceUsage().maxRSS / 1024,
    beforeMegabytes: before / 1e6,
    used: fit.sightings.used,
  }),
);
