/** How many cases the hardening tests try: some thousands in the usual run, POLEWRIGHT_FUZZ=100000 for the full one. */
const USUAL = 3000;
const cases = Math.max(30, Math.floor(Number(process.env.POLEWRIGHT_FUZZ ?? USUAL)));

/** Nights whose readings fit nothing: the search for what would explain them takes its time, so the usual run has few. */
export const STRANGE = Math.ceil(cases <= USUAL ? cases / 30 : cases / 5);
/** Spoilt pairs of mount and night files. */
export const SPOILT = cases - STRANGE;
/** A full run may take hours; what hangs is ended by it, and nothing is timed. */
export const PATIENCE_MS = 300_000 + 500 * cases;
