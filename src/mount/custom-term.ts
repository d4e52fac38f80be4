/**
 * A builder's own terms: two expressions, read by mathjs and held to arithmetic.
 *
 * The text is never run. mathjs parses it, every node of the tree must be on the lists below, and the tree is
 * turned into plain closures over numbers. So an expression can compute, and nothing else: it has no names but
 * those given to it, no properties, no assignment, no functions of its own.
 */

import type { ConstantNode, FunctionNode, MathNode, OperatorNode, ParenthesisNode, SymbolNode } from "mathjs";
import { expressionParser } from "#expression-parser";
import { type Fault, InputError, shown } from "../errors.js";
import { didYouMean } from "./did-you-mean.js";
import type { CustomTerm } from "./mount.js";

/** What an expression may use, all in radians. */
export interface CustomTermVariables {
  /** Hour angle, west positive. */
  readonly hourAngle: number;
  /** Declination, north positive. */
  readonly declination: number;
  /** Altitude above the horizon. */
  readonly altitude: number;
  /** Azimuth, from north through east. */
  readonly azimuth: number;
  /** Latitude of the site, north positive. */
  readonly latitude: number;
}

/** A builder's term ready for use: by how much a unit of it moves each reading. */
export interface CompiledCustomTerm {
  readonly name: string;
  readonly hourAngle: (at: CustomTermVariables) => number;
  readonly declination: (at: CustomTermVariables) => number;
}

/** The names of the quantities that an expression may use. */
export const customTermVariables = ["hourAngle", "declination", "altitude", "azimuth", "latitude"] as const;

type Variable = (typeof customTermVariables)[number];
type Closure = (at: CustomTermVariables) => number;

const LONGEST_EXPRESSION = 500;
const MOST_NODES = 200;
const DEEPEST = 40;

/** Least and most arguments, and the function. */
const functions = new Map<string, readonly [number, number, (...values: number[]) => number]>([
  ["sin", [1, 1, Math.sin]],
  ["cos", [1, 1, Math.cos]],
  ["tan", [1, 1, Math.tan]],
  ["asin", [1, 1, Math.asin]],
  ["acos", [1, 1, Math.acos]],
  ["atan", [1, 1, Math.atan]],
  ["atan2", [2, 2, Math.atan2]],
  ["sqrt", [1, 1, Math.sqrt]],
  ["abs", [1, 1, Math.abs]],
  ["exp", [1, 1, Math.exp]],
  ["log", [1, 1, Math.log]],
  ["min", [1, 10, Math.min]],
  ["max", [1, 10, Math.max]],
  ["sign", [1, 1, Math.sign]],
]);

const operators = new Map<string, (a: number, b: number) => number>([
  ["+", (a, b) => a + b],
  ["-", (a, b) => a - b],
  ["*", (a, b) => a * b],
  ["/", (a, b) => a / b],
  ["^", (a, b) => a ** b],
]);

const ALLOWED =
  `numbers, + - * / ^, parentheses, pi, the angles ${customTermVariables.join(", ")} in radians, ` +
  `and the functions ${[...functions.keys()].join(", ")}`;

/**
 * Reads one expression of a builder's term.
 *
 * @param expression - for instance `sin(hourAngle) * tan(declination)`; angles are radians
 * @param path - where it stands, for the message, for instance `customTerms[0].hourAngle`
 * @returns a function of the pointing; it throws InputError `custom-term-not-finite` where the expression has no finite value
 * @throws InputError `custom-term-unreadable`, `custom-term-forbidden`, `custom-term-unknown-name` or `custom-term-too-long`
 * @example
 * ```ts
 * const sag = compileExpression("sin(hourAngle)^2 / 2");
 * sag({ hourAngle: Math.PI / 2, declination: 0, altitude: 0, azimuth: 0, latitude: 0 }) // 0.5
 * ```
 */
export function compileExpression(expression: string, path?: string): (at: CustomTermVariables) => number {
  const place = path === undefined ? {} : { path };
  const refuse = (code: string, message: string): never => {
    throw new InputError({
      code,
      ...place,
      found: shown(expression),
      allowed: ALLOWED,
      message,
    });
  };
  if (expression.length > LONGEST_EXPRESSION) {
    refuse("custom-term-too-long", `The expression is longer than ${LONGEST_EXPRESSION} characters.`);
  }
  if (expression.trim() === "")
    refuse("custom-term-unreadable", "The expression is empty; write 0 for no effect.");
  const stranger = /[^\sA-Za-z0-9_.+\-*/^(),]/u.exec(expression);
  if (stranger) refuse("custom-term-forbidden", `The character ${shown(stranger[0])} has no place in it.`);
  if (/\b0[box]/i.test(expression))
    refuse("custom-term-forbidden", "Numbers are written with decimal figures.");
  if (/[\n\r]/.test(expression.trim()))
    refuse("custom-term-forbidden", "The expression is more than one line.");

  let tree: MathNode;
  try {
    tree = expressionParser()(expression);
  } catch (problem) {
    const reason = problem instanceof Error ? problem.message : String(problem);
    return refuse("custom-term-unreadable", `The expression cannot be read: ${reason}.`);
  }

  let nodes = 0;
  const closureOf = (node: MathNode, depth: number): Closure => {
    nodes += 1;
    if (nodes > MOST_NODES || depth > DEEPEST) {
      refuse("custom-term-too-long", "The expression has too many parts, or is nested too deeply.");
    }
    switch (node.type) {
      case "ConstantNode": {
        const { value } = node as ConstantNode;
        if (typeof value !== "number" || !Number.isFinite(value)) {
          return refuse("custom-term-forbidden", `${shown(value)} is not a number.`);
        }
        return () => value;
      }
      case "SymbolNode": {
        const { name } = node as SymbolNode;
        if (name === "pi") return () => Math.PI;
        if ((customTermVariables as readonly string[]).includes(name)) return (at) => at[name as Variable];
        return refuse("custom-term-unknown-name", unknownName(name));
      }
      case "ParenthesisNode":
        return closureOf((node as ParenthesisNode).content, depth + 1);
      case "OperatorNode":
        return operatorClosure(node as OperatorNode, depth);
      case "FunctionNode":
        return functionClosure(node as FunctionNode, depth);
      default:
        return refuse("custom-term-forbidden", "The expression does more than compute a number.");
    }
  };
  const operatorClosure = (node: OperatorNode, depth: number): Closure => {
    if (node.implicit) return refuse("custom-term-forbidden", "A * is missing between two factors.");
    const [first, second, third] = node.args;
    if (
      first !== undefined &&
      second === undefined &&
      (node.fn === "unaryMinus" || node.fn === "unaryPlus")
    ) {
      const inner = closureOf(first, depth + 1);
      return node.fn === "unaryMinus" ? (at) => -inner(at) : inner;
    }
    const operate = operators.get(node.op);
    if (operate === undefined || first === undefined || second === undefined || third !== undefined) {
      return refuse("custom-term-forbidden", `The operator ${shown(node.op)} has no place in it.`);
    }
    const left = closureOf(first, depth + 1);
    const right = closureOf(second, depth + 1);
    return (at) => operate(left(at), right(at));
  };
  const functionClosure = (node: FunctionNode, depth: number): Closure => {
    const called: MathNode = node.fn;
    if (called.type !== "SymbolNode")
      return refuse("custom-term-forbidden", "Only a named function can be called.");
    const { name } = called as SymbolNode;
    const found = functions.get(name);
    if (found === undefined) return refuse("custom-term-unknown-name", unknownName(name));
    const [least, most, compute] = found;
    if (node.args.length < least || node.args.length > most) {
      return refuse(
        "custom-term-unreadable",
        `${name} takes ${least === most ? least : `${least} to ${most}`} ${most === 1 ? "value" : "values"}, not ${node.args.length}.`,
      );
    }
    const values = node.args.map((argument) => closureOf(argument, depth + 1));
    const [only, other] = values;
    if (values.length === 1 && only !== undefined) return (at) => compute(only(at));
    if (values.length === 2 && only !== undefined && other !== undefined)
      return (at) => compute(only(at), other(at));
    return (at) => compute(...values.map((value) => value(at)));
  };

  const compute = closureOf(tree, 0);
  return (at) => {
    const value = compute(at);
    if (!Number.isFinite(value)) {
      const where = customTermVariables.map((name) => `${name} ${at[name].toFixed(4)}`).join(", ");
      refuse("custom-term-not-finite", `The expression has no finite value at ${where} (radians).`);
    }
    return value;
  };
}

/** An expression with its tree as plain data: of mathjs's nodes what {@link compileExpression} reads. */
export interface ExpressionTree {
  readonly expression: string;
  readonly tree: object;
}

/** The trees of a builder's terms, so that a page needs no parser. */
export function expressionTrees(terms: readonly CustomTerm[]): ExpressionTree[] {
  const texts = new Set(terms.flatMap(({ hourAngle, declination }) => [hourAngle, declination]));
  return [...texts].map((expression) => {
    compileExpression(expression);
    return { expression, tree: plainTree(expressionParser()(expression)) };
  });
}

/** What nodes have, one or the other. */
interface AnyNode {
  readonly value?: number;
  readonly name?: string;
  readonly content?: MathNode;
  readonly op?: string;
  readonly fn?: string | MathNode;
  readonly args?: readonly MathNode[];
}

/** A node that {@link compileExpression} has let pass, without what it does not read. */
function plainTree(node: MathNode): object {
  const { type, value, name, content, op, fn, args } = node as MathNode & AnyNode;
  return {
    type,
    value,
    name: type === "SymbolNode" ? name : undefined,
    content: content === undefined ? undefined : plainTree(content),
    op,
    fn: typeof fn === "object" ? plainTree(fn) : fn,
    args: args?.map(plainTree),
  };
}

/**
 * Makes a builder's term ready for use. mathjs (about a third of a second) is loaded by the first call only.
 *
 * @param term - the term as the mount file gives it
 * @param path - where it stands in the mount file, for messages
 * @returns its two functions of the pointing, dimensionless: arcminutes of reading for an arcminute of the term
 * @throws InputError with the faults of both expressions; also `custom-term-without-effect` when both are zero all
 *   over the sky, and `custom-term-not-finite` when one of them has a finite value nowhere
 * @example
 * ```ts
 * const term = compileCustomTerm({
 *   name: "customFork", label: "fork flexure", hourAngle: "cos(hourAngle)", declination: "0", tolerance: 3,
 * });
 * term.hourAngle({ hourAngle: 0, declination: 0, altitude: 1, azimuth: 0, latitude: 0.5 }) // 1
 * ```
 */
export function compileCustomTerm(term: CustomTerm, path?: string): CompiledCustomTerm {
  const faults: Fault[] = [];
  const within = (key: "hourAngle" | "declination"): string => (path === undefined ? key : `${path}.${key}`);
  const compiled = (["hourAngle", "declination"] as const).map((key) => {
    try {
      const closure = compileExpression(term[key], within(key));
      return { closure, sizes: sizesOverSky(closure) };
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      faults.push(...problem.faults);
      return null;
    }
  });
  const [hourAngle, declination] = compiled;
  if (!hourAngle || !declination || faults.length > 0) throw new InputError(faults);
  if ([...hourAngle.sizes, ...declination.sizes].every((size) => size === 0)) {
    throw new InputError({
      code: "custom-term-without-effect",
      ...(path === undefined ? {} : { path }),
      found: `${shown(term.hourAngle)} and ${shown(term.declination)}`,
      allowed: "at least one expression that is not zero all over the sky",
      message: `The term ${term.name} moves neither reading anywhere, so no sighting can measure it.`,
    });
  }
  return { name: term.name, hourAngle: hourAngle.closure, declination: declination.closure };
}

/** The sizes of an expression at places spread over the sky; at least one must be finite. */
function sizesOverSky(closure: Closure): number[] {
  const sizes: number[] = [];
  let refusal: unknown = null;
  for (const latitude of [-0.6, 0.7]) {
    for (const hourAngle of [-2.1, -0.7, 0.3, 1.4]) {
      for (const declination of [-1.1, -0.4, 0.2, 0.9]) {
        // The horizon's angles need not belong to the equator's here: only the expression is tried.
        const at = {
          hourAngle,
          declination,
          altitude: 0.4 + declination / 4,
          azimuth: 3 + hourAngle,
          latitude,
        };
        try {
          sizes.push(Math.abs(closure(at)));
        } catch (problem) {
          refusal ??= problem;
        }
      }
    }
  }
  if (sizes.length === 0 && refusal !== null) throw refusal;
  return sizes;
}

function unknownName(name: string): string {
  const near = didYouMean(name, [...customTermVariables, ...functions.keys(), "pi"]);
  const needsArgument = functions.has(name) ? ` ${name} is a function and needs parentheses.` : "";
  return `The name ${shown(name)} is not known here.${needsArgument}${near && near !== name ? ` Did you mean ${near}?` : ""}`;
}
