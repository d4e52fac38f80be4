/**
 * Measures how long a kernel takes from nothing to its first result. Not a test: run it on a quiet machine.
 *
 * node test/kernel/measure-start.mjs [TIMES], after npm run build
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { startKernel } from "../../dist/kernel/client.js";

const times = Number(process.argv[2] ?? 5);
const folder = mkdtempSync(join(tmpdir(), "polewright-measure-"));
const steps = { answers: [], firstResult: [], packageImported: [], nextCell: [] };
for (let run = 0; run < times; run += 1) {
  let last = performance.now();
  const lap = (step) => {
    const now = performance.now();
    steps[step].push(now - last);
    last = now;
  };
  const kernel = await startKernel({ folder });
  lap("answers");
  await kernel.execute("1 + 1");
  lap("firstResult");
  await kernel.execute('import { openNight, show } from "polewright";');
  lap("packageImported");
  await kernel.execute("1 + 1");
  lap("nextCell");
  await kernel.shutdown();
}
rmSync(folder, { recursive: true });
for (const [step, laps] of Object.entries(steps)) {
  const middle = laps.sort((one, other) => one - other)[Math.floor(laps.length / 2)];
  console.log(`${step.padEnd(16)} median ${Math.round(middle)} ms, longest ${Math.round(laps.at(-1))} ms`);
}
