import { place } from "../../answers/takes.js";
import { addKernel, removeKernel, whereKernel } from "../../kernel/kernelspec.js";
import { deed } from "../deed.js";

const deeds = { add: addKernel, remove: removeKernel, where: whereKernel } as const;

/** `polewright kernel add|remove|where`. */
export const kernel = deed({
  name: "kernel",
  asks: "the notebook kernel of this package, for Jupyter",
  example: "polewright kernel add",
  takes: {
    what: {
      ...place("what", "add: make the kernel known to Jupyter (no Python needed); remove it; where it is"),
      choices: Object.keys(deeds),
    },
  },
  run({ what }) {
    const answer = deeds[what as keyof typeof deeds]();
    process.stdout.write(`${answer.text}\n`);
    process.exitCode = what === "where" && !answer.present ? 1 : 0;
  },
});
