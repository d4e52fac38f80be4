import { addKernel, removeKernel, whereKernel } from "../../kernel/kernelspec.js";

/** `polewright kernel add|remove|where`. */
export function kernelCommand(deed: "add" | "remove" | "where", options: { night?: boolean } = {}): void {
  const answer = { add: addKernel, remove: removeKernel, where: whereKernel }[deed](options);
  process.stdout.write(`${answer.text}\n`);
  process.exitCode = deed === "where" && !answer.present ? 1 : 0;
}
