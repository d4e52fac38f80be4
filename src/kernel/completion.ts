/**
 * Completion inside quotes: which of the names that may stand there begin with, or contain, what was typed.
 */

/** The string literal around a place in code: where its text starts and ends, and the text before the place. */
export interface LiteralPlace {
  readonly start: number;
  readonly end: number;
  readonly typed: string;
}

/** A node of TypeScript's syntax tree, as far as it is looked at here. */
export interface SyntaxNode {
  readonly kind: number;
  readonly end: number;
  readonly isUnterminated?: boolean;
  getStart(): number;
}

/** TypeScript's parser, as far as it is used here. */
export interface Parser {
  readonly SyntaxKind: {
    readonly StringLiteral: number;
    readonly NoSubstitutionTemplateLiteral: number;
    readonly ShorthandPropertyAssignment: number;
  };
  createSourceFile(name: string, code: string, target: number, setParents: boolean): SyntaxNode;
  forEachChild<Found>(node: SyntaxNode, visit: (child: SyntaxNode) => Found | undefined): Found | undefined;
}

/** Names that may stand inside the quotes at a place in code, counted in UTF-16 units from 0. */
export type NamesAt = (code: string, position: number) => readonly string[];

const NEWEST_TARGET = 99;

/**
 * The string literal in which a place in code lies; nothing where it lies in none.
 *
 * @param parser - TypeScript
 * @param code - TypeScript code, finished or not
 * @param position - where the cursor is, counted in UTF-16 units from 0
 */
export function literalAround(parser: Parser, code: string, position: number): LiteralPlace | undefined {
  const { StringLiteral, NoSubstitutionTemplateLiteral } = parser.SyntaxKind;
  const visit = (node: SyntaxNode): LiteralPlace | undefined => {
    if (position < node.getStart() || position > node.end) return undefined;
    if (node.kind !== StringLiteral && node.kind !== NoSubstitutionTemplateLiteral) {
      return parser.forEachChild(node, visit);
    }
    const start = node.getStart() + 1;
    // In a literal that is not closed yet, what follows the cursor is other code: it must not be swallowed.
    const end = node.isUnterminated ? position : node.end - 1;
    return position < start || position > end
      ? undefined
      : { start, end, typed: code.slice(start, position) };
  };
  return visit(parser.createSourceFile("cell.ts", code, NEWEST_TARGET, true));
}

/**
 * A cursor as TypeScript counts it, in UTF-16 units; at most the end of the code.
 *
 * @param code - code
 * @param characters - the cursor as Jupyter counts it ("Messaging in Jupyter" 5.2 and later): in Unicode characters
 */
export function unitsOf(code: string, characters: number): number {
  let units = 0;
  for (let passed = 0; passed < characters && units < code.length; passed += 1) {
    units += code.codePointAt(units)! > 0xffff ? 2 : 1;
  }
  return units;
}

/** A cursor as Jupyter counts it, from one that TypeScript counted: see {@link unitsOf}. */
export function charactersOf(code: string, units: number): number {
  return [...code.slice(0, units)].length;
}

/**
 * The place of the function's name where a cursor stands behind the bracket that opens its arguments; else nothing.
 *
 * @param code - code
 * @param position - where the cursor is, counted in UTF-16 units from 0
 */
export function calledName(code: string, position: number): number | undefined {
  const before = code.slice(0, position).trimEnd();
  return before.endsWith("(") ? before.slice(0, -1).trimEnd().length : undefined;
}

/** A name as it is compared: without case and accents. */
function folded(name: string): string {
  return name
    .normalize("NFD")
    .replace(/\p{Mark}/gu, "")
    .toLowerCase();
}

/**
 * The names that fit what was typed: those that begin with it first, then those that contain it.
 *
 * @param names - all names that may stand there
 * @param typed - what was typed so far
 */
export function matchingNames(names: readonly string[], typed: string): string[] {
  const wanted = folded(typed);
  const begins = names.filter((name) => folded(name).startsWith(wanted));
  const contains = names.filter((name) => !begins.includes(name) && folded(name).includes(wanted));
  return [...begins, ...contains];
}

/**
 * The name that was probably meant: the one with the fewest letters changed, if a third of them at most.
 *
 * @param names - all names that may stand there
 * @param written - what was written instead
 */
export function nearestName(names: readonly string[], written: string): string | undefined {
  const wanted = folded(written);
  let best: string | undefined;
  let fewest = Math.floor(wanted.length / 3) + 1;
  for (const name of names) {
    const changes = lettersChanged(folded(name), wanted);
    if (changes < fewest) {
      fewest = changes;
      best = name;
    }
  }
  return best;
}

/** Levenshtein's distance: letters put in, left out or replaced. */
function lettersChanged(one: string, other: string): number {
  let row = Array.from({ length: other.length + 1 }, (_, index) => index);
  for (let i = 1; i <= one.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= other.length; j += 1) {
      const replaced = row[j - 1]! + (one[i - 1] === other[j - 1] ? 0 : 1);
      next.push(Math.min(replaced, row[j]! + 1, next[j - 1]! + 1));
    }
    row = next;
  }
  return row[other.length]!;
}
