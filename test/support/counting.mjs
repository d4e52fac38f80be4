// Checks that count themselves, for the scripts whose last line states the counts.
let passed = 0;
let failed = 0;

/** Counts a check, and tells of it where it fails; gives back whether it holds. */
export function check(what, holds, detail = "") {
  if (holds) passed++;
  else {
    failed++;
    console.log(`FAILED: ${what}${detail === "" ? "" : ` (${detail})`}`);
  }
  return Boolean(holds);
}

/** States the counts; gives the exit code. */
export function stateCounts() {
  console.log(`${passed} passed, ${failed} failed`);
  return failed === 0 ? 0 : 1;
}
