/**
 * mathjs's parser for plain numbers, for a browser: of the package only what the parser needs, so that a page stays small.
 */
import type { MathNode } from "mathjs";
import { create, parseDependencies } from "mathjs/number";

let parse: ((expression: string) => MathNode) | null = null;

/** The parser: from an expression to its tree; it throws where the expression cannot be read. */
export function expressionParser(): (expression: string) => MathNode {
  parse ??= create({ parseDependencies: parseDependencies ?? {} }, {}).parse as (
    expression: string,
  ) => MathNode;
  return parse;
}
