import fc from "fast-check";
import { expect, it } from "vitest";
import { grounds } from "./ground.js";
import { PATIENCE_MS, SPOILT } from "./runs.js";
import { type Edit, edit, spoil } from "./spoil.js";
import { takeTexts } from "./whole-chain.js";

const SEED = 20260314;

const spoiltPair = fc.record({
  ground: fc.constantFrom(...grounds),
  mountEdits: fc.oneof(fc.constant<Edit[]>([]), fc.array(edit, { maxLength: 2 })),
  nightEdits: fc.array(edit, { maxLength: 3 }),
});

it(`spoilt mount and night files, ${SPOILT} pairs, are refused with their places or taken through to the figures`, {
  timeout: PATIENCE_MS,
}, () => {
  const stages = { "mount refused": 0, "night refused": 0, "fit refused": 0, done: 0 };
  fc.assert(
    fc.property(spoiltPair, ({ ground, mountEdits, nightEdits }) => {
      const mountText = mountEdits.reduce(spoil, ground.mountText);
      const nightText = nightEdits.reduce(spoil, ground.nightText);
      const { stage, trouble } = takeTexts(mountText, nightText);
      stages[stage]++;
      if (trouble !== null) throw new Error(`${trouble}\n--- mount\n${mountText}\n--- night\n${nightText}`);
    }),
    { seed: SEED, numRuns: SPOILT },
  );
  // The cases would be worth little if all of them fell at the first hurdle.
  for (const stage of ["mount refused", "night refused", "done"] as const)
    expect(stages[stage], stage).toBeGreaterThan(SPOILT / 10);
});
