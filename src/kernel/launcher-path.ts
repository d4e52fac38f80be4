import { fileURLToPath } from "node:url";

/** The program that Jupyter starts, found from here as well as from the bundled command line in the room beside. */
export const launcherPath = fileURLToPath(new URL("../kernel/launcher.js", import.meta.url));
