/** The "parser" for a builder's own terms as a page has it: their trees were made where the page was, and stand in its data. */
import type { MathNode } from "mathjs";
import type { ExpressionTree } from "../../../mount/custom-term.js";

let known: readonly ExpressionTree[] = [];

/** Gives the page the trees of its mount's expressions. */
export function giveTrees(trees: readonly ExpressionTree[]): void {
  known = trees;
}

/** The parser: from an expression to its tree; it throws for one that the page was not made with. */
export function expressionParser(): (expression: string) => MathNode {
  return (expression) => {
    const found = known.find((one) => one.expression === expression);
    if (found === undefined) throw new Error("This page was made without this expression.");
    return found.tree as MathNode;
  };
}
