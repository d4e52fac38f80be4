/**
 * Writes every mutant of the chosen files into their code, each switched on by its number: `a + b` becomes
 * `(globalThis.mutant(17) ? a - b : a + b)`. One build then serves all mutants.
 */
import { readFileSync } from "node:fs";
import ts from "typescript";

const { SyntaxKind } = ts;
const swapped = new Map([
  [SyntaxKind.PlusToken, "-"],
  [SyntaxKind.MinusToken, "+"],
  [SyntaxKind.AsteriskToken, "/"],
  [SyntaxKind.SlashToken, "*"],
  [SyntaxKind.LessThanToken, ">="],
  [SyntaxKind.LessThanEqualsToken, ">"],
  [SyntaxKind.GreaterThanToken, "<="],
  [SyntaxKind.GreaterThanEqualsToken, "<"],
  [SyntaxKind.EqualsEqualsEqualsToken, "!=="],
  [SyntaxKind.ExclamationEqualsEqualsToken, "==="],
  [SyntaxKind.AmpersandAmpersandToken, "||"],
  [SyntaxKind.BarBarToken, "&&"],
]);
const swappedNames = new Map([
  ["max", "min"],
  ["min", "max"],
  ["sin", "cos"],
  ["cos", "sin"],
  ["ceil", "floor"],
  ["floor", "ceil"],
  ["some", "every"],
  ["every", "some"],
]);

/** What a node may become: the text of the mutant, or null. */
function mutantOf(node, source) {
  const text = (part) => part.getText(source);
  if (ts.isBinaryExpression(node)) {
    const sign = swapped.get(node.operatorToken.kind);
    const words =
      ts.isStringLiteralLike(node.left) ||
      ts.isStringLiteralLike(node.right) ||
      ts.isTemplateExpression(node.right);
    if (sign === undefined || (sign === "-" && words)) return null;
    return `${text(node.left)} ${sign} ${text(node.right)}`;
  }
  if (ts.isPrefixUnaryExpression(node)) {
    if (node.operator === SyntaxKind.MinusToken || node.operator === SyntaxKind.ExclamationToken)
      return text(node.operand);
    return null;
  }
  if (ts.isNumericLiteral(node))
    return ts.isPropertyAssignment(node.parent) && node.parent.name === node
      ? null
      : `${Number(node.text.replaceAll("_", "")) * 2 + 1}`;
  if (ts.isConditionalExpression(node))
    return `(${text(node.condition)}) ? ${text(node.whenFalse)} : ${text(node.whenTrue)}`;
  if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression)) {
    const name = swappedNames.get(node.expression.name.text);
    if (name === undefined) return null;
    return `${text(node.expression.expression)}.${name}(${node.arguments.map(text).join(", ")})`;
  }
  if (node.kind === SyntaxKind.TrueKeyword) return "false";
  if (node.kind === SyntaxKind.FalseKeyword) return "true";
  return null;
}

/** Every mutant of a file: where it stands, what stands there and what the mutant says. Code that runs once, at loading, has none. */
export function mutantsOf(path) {
  const code = readFileSync(path, "utf8");
  const source = ts.createSourceFile(path, code, ts.ScriptTarget.Latest, true);
  const found = [];
  const visit = (node, inFunction) => {
    if (ts.isTypeNode(node) || ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) return;
    const to = inFunction ? mutantOf(node, source) : null;
    if (to !== null) {
      const start = node.getStart(source);
      const { line } = source.getLineAndCharacterOfPosition(start);
      found.push({ path, start, end: node.getEnd(), line: line + 1, from: node.getText(source), to });
    }
    const within = inFunction || ts.isFunctionLike(node);
    ts.forEachChild(node, (child) => visit(child, within));
  };
  visit(source, false);
  return found;
}

/** The code of a file with its chosen mutants built in; they may stand inside one another. */
function withMutants(code, mutants) {
  const inner = (from, to, among) => {
    let text = "";
    let at = from;
    const outermost = among.filter(
      (one) => !among.some((other) => other !== one && other.start <= one.start && other.end >= one.end),
    );
    for (const one of outermost) {
      const rest = among.filter((other) => other !== one && other.start >= one.start && other.end <= one.end);
      text += `${code.slice(at, one.start)}(globalThis.mutant(${one.id}) ? (${one.to}) : (${inner(one.start, one.end, rest)}))`;
      at = one.end;
    }
    return text + code.slice(at, to);
  };
  return inner(0, code.length, mutants);
}

/** The plugin for vitest: `chosen` are mutants of {@link mutantsOf} with an `id` each. */
export function mutationPlugin(chosen) {
  return {
    name: "mutation",
    enforce: "pre",
    transform(code, id) {
      const own = chosen.filter((one) => one.path === id.split("?")[0]).sort((a, b) => a.start - b.start);
      return own.length === 0 ? null : { code: withMutants(code, own), map: null };
    },
  };
}
