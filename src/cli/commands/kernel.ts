import { WrongUsage } from "../../answers/answer.js";
import { flag, place } from "../../answers/takes.js";
import { fetchPackages } from "../../kernel/kernel-packages.js";
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
    night: flag("start notebooks red on black (with add)"),
  },
  run({ what, night }) {
    if (night && what !== "add") throw new WrongUsage("error: option --night has an effect only with add");
    if (what === "add") fetchPackages((text) => process.stderr.write(`${text}\n`));
    const answer = deeds[what as keyof typeof deeds]({ night });
    process.stdout.write(`${answer.text}\n`);
    process.exitCode = what === "where" && !answer.present ? 1 : 0;
  },
});
