// What is timed as a whole process: the command line, a kernel's start, and the rivals in Python.
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { distFile, root } from "./cases.mjs";

const PYTHON = "/usr/bin/python3";

/** Milliseconds of each of some runs of the command line from its start to its end. */
export function commandLineStarts(runs) {
  const night = join(root, "data", "first-light", "night.csv");
  return Array.from({ length: runs }, () => {
    const began = performance.now();
    const done = spawnSync(process.execPath, [distFile("cli/main.js"), "fit", night, "--json"]);
    if (done.status !== 0) throw new Error(`fit --json: ${done.stderr}`);
    return performance.now() - began;
  });
}

/** Milliseconds of an empty Node.js program: what no program can go below. */
export function emptyStarts(runs) {
  return Array.from({ length: runs }, () => {
    const began = performance.now();
    spawnSync(process.execPath, ["-e", "0"]);
    return performance.now() - began;
  });
}

/** Milliseconds from the kernel's start to the first result, headless: of a bare cell and of one with the package. */
export async function kernelStarts(runs, code) {
  const { startKernel } = await import(new URL(`file://${distFile("kernel/client.js")}`).href);
  const times = [];
  for (let run = 0; run < runs; run++) {
    const began = performance.now();
    const kernel = await startKernel({ folder: join(root, "notebooks") });
    try {
      const { status } = await kernel.execute(code);
      if (status !== "ok") throw new Error(`The kernel answered ${status}.`);
      times.push(performance.now() - began);
    } finally {
      await kernel.shutdown();
    }
  }
  return times;
}

export function hasPython() {
  const done = spawnSync(PYTHON, ["-c", "import erfa, numpy, scipy"]);
  return done.status === 0;
}

/** ERFA, NumPy and SciPy on a case's rows, in one thread. */
export function byPython(casePath) {
  const script = fileURLToPath(new URL("erfa_scipy.py", import.meta.url));
  const env = { ...process.env, OPENBLAS_NUM_THREADS: "1", OMP_NUM_THREADS: "1" };
  return JSON.parse(execFileSync(PYTHON, [script, casePath], { env, encoding: "utf8", maxBuffer: 1e8 }));
}

/** The largest memory, megabytes, of a process that reduces and fits so many sightings. */
export function memoryOf(count) {
  const script = fileURLToPath(new URL("season-memory.mjs", import.meta.url));
  return new Promise((resolve, reject) => {
    let text = "";
    const child = spawn(process.execPath, [script, String(count)], { stdio: ["ignore", "pipe", "inherit"] });
    child.stdout.on("data", (data) => {
      text += data;
    });
    child.on("close", (status) =>
      status === 0 ? resolve(JSON.parse(text)) : reject(new Error(`exit ${status}`)),
    );
  });
}
