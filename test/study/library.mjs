/** The build that is tried: dist/ here, or another. */
export const builtDist = process.env.POLEWRIGHT_DIST ?? new URL("../../dist/", import.meta.url).href;

/** The functions of the build that the study needs. */
export async function builtLibrary() {
  const modules = await Promise.all(
    [
      "simulate/random.js",
      "sky/sun-and-moon.js",
      "simulate/simulate-night.js",
      "mount/mount-file.js",
      "sky/find-star.js",
      "fit/mount-fit.js",
      "fit/evidence.js",
      "keep/compare.js",
      "base/jack-turns.js",
      "base/turns-made.js",
    ].map((path) => import(new URL(path, builtDist).href)),
  );
  return Object.assign({}, ...modules);
}
