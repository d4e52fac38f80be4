/** When it is night: where simulated nights are set. */
const DEGREE = Math.PI / 180;
const DAY_MS = 86_400_000;
const STEP_MS = 600_000;
/** Nautical twilight ends: the catalogue's stars are seen in a finder (common practice, no source). */
const DARK_SUN_ALTITUDE_DEG = -12;

/**
 * The first night after a moment, `{ fromMs, toMs }`: while the Sun is lower than 12° under the horizon, to ten minutes; null
 * where it does not go so low within the next day.
 */
export function darkSpan({ sunDirection }, site, afterMs) {
  const dark = (timeMs) => sunDirection(timeMs, site).altitude < DARK_SUN_ALTITUDE_DEG * DEGREE;
  let fromMs = afterMs;
  while (!dark(fromMs)) {
    fromMs += STEP_MS;
    if (fromMs > afterMs + DAY_MS) return null;
  }
  let toMs = fromMs;
  while (toMs < fromMs + DAY_MS && dark(toMs + STEP_MS)) toMs += STEP_MS;
  return { fromMs, toMs };
}
