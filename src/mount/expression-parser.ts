/**
 * mathjs's parser for plain numbers as Node.js has it: loaded when first needed, because loading it takes a third of a
 * second. A browser gets `expression-parser-browser.ts`: "imports" in package.json.
 */
import { createRequire } from "node:module";
import type { MathNode } from "mathjs";

let parse: ((expression: string) => MathNode) | null = null;

/** The parser: from an expression to its tree; it throws where the expression cannot be read. */
export function expressionParser(): (expression: string) => MathNode {
  parse ??= (createRequire(import.meta.url)("mathjs/number") as { parse: (expression: string) => MathNode })
    .parse;
  return parse;
}
