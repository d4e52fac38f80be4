/** The parser for a builder's own terms as a page has it: from a script before the page's own, where the mount needs one. */
import type { MathNode } from "mathjs";

type Parser = (expression: string) => MathNode;

/** The parser: from an expression to its tree; it throws where the expression cannot be read. */
export function expressionParser(): Parser {
  const { polewrightExpressions } = globalThis as { polewrightExpressions?: Parser };
  if (polewrightExpressions === undefined) throw new Error("This page was made without a parser for terms.");
  return polewrightExpressions;
}
