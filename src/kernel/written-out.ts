/**
 * Code with `{ latitude }` written out as `{ latitude: latitude }`. tslab finds the names of earlier cells in all other places,
 * but not in this one: the cell would end with “latitude is not defined”.
 */
import type { Parser } from "./completion.js";

const NEWEST_TARGET = 99;

/** What of a node is looked at here. */
interface Shorthand {
  readonly name?: { readonly text: string; readonly end: number };
  readonly objectAssignmentInitializer?: unknown;
}

/**
 * Writes out what is said in short.
 *
 * @param parser - TypeScript
 * @param code - a cell's code
 */
export function writtenOut(parser: Parser, code: string): string {
  const { ShorthandPropertyAssignment } = parser.SyntaxKind;
  const found: { readonly text: string; readonly end: number }[] = [];
  const visit = (node: ReturnType<Parser["createSourceFile"]>): undefined => {
    const { name, objectAssignmentInitializer } = node as unknown as Shorthand;
    if (node.kind !== ShorthandPropertyAssignment) parser.forEachChild(node, visit);
    else if (name !== undefined && objectAssignmentInitializer === undefined) found.push(name);
    return undefined;
  };
  visit(parser.createSourceFile("cell.ts", code, NEWEST_TARGET, true));
  return found.reduceRight(
    (text, { text: name, end }) => `${text.slice(0, end)}: ${name}${text.slice(end)}`,
    code,
  );
}
