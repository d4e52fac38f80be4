import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";

const { note: _, base, ...rest } = firstMount;
const { confirmed: __, ...figures } = base;

/** The mount file of the invented Nowhere School, with nothing left to confirm. */
export const nowhereFile = { ...rest, name: "Nowhere School 40 cm", base: figures };
export const nowhereSchool = parseMount(nowhereFile);
