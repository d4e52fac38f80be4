/**
 * JSON Schemas of answers, from the types of what each question's `json` gives: a key's description is its comment.
 * Types with a name stand once, under `$defs`.
 */
import { dirname } from "node:path";
import { fileURLToPath } from "node:url";
import ts from "typescript";

const root = dirname(dirname(fileURLToPath(import.meta.url)));

/** What every answer has besides: see src/cli/give.ts. */
const version = { type: "string", description: "the version of Polewright that answered" };
const note = {
  type: "object",
  description: "what is to be known first",
  properties: {
    code: { type: "string" },
    message: { type: "string" },
    remedy: { type: "string" },
    row: { type: ["integer", "null"], description: "the row of the file" },
    rows: { type: "array", items: { type: "integer" } },
  },
  required: ["code", "message", "remedy"],
};

/** The schemas of the questions named, each by its command's name. */
export function answerSchemas(names) {
  const config = ts.getParsedCommandLineOfConfigFile(
    `${root}/tsconfig.json`,
    {},
    {
      ...ts.sys,
      onUnRecoverableConfigFileDiagnostic: (problem) => {
        throw new Error(ts.flattenDiagnosticMessageText(problem.messageText, "\n"));
      },
    },
  );
  const program = ts.createProgram(
    names.map((name) => `${root}/src/answers/${name}.ts`),
    { ...config.options, noEmit: true },
  );
  return Object.fromEntries(names.map((name) => [name, schemaOf(name, program)]));
}

function schemaOf(name, program) {
  const checker = program.getTypeChecker();
  const source = program.getSourceFile(`${root}/src/answers/${name}.ts`);
  const signature = checker.getTypeAtLocation(jsonOf(source)).getCallSignatures()[0];
  const { written, defs } = writer(checker, source);
  const answer = written(signature.getReturnType());
  const parts = (answer.anyOf ?? [answer]).map((part) =>
    part.$ref === undefined ? part : defs[part.$ref.split("/").at(-1)],
  );
  return {
    $schema: "https://json-schema.org/draft/2020-12/schema",
    $id: `${name}.schema.json`,
    title: `The answer of polewright ${name} --json`,
    ...(parts.length === 1 ? whole(parts[0]) : { anyOf: parts.map(whole) }),
    $defs: { note, ...used(defs, parts) },
  };
}

/** An answer with the version and the notes that every answer has. */
function whole({ properties, required, ...rest }) {
  const notes = { type: "array", items: { $ref: "#/$defs/note" } };
  return {
    ...rest,
    properties: { version, ...properties, notes },
    required: [...new Set(["version", ...required, "notes"])],
  };
}

/** The definitions that are pointed at, directly or by another. */
function used(defs, parts) {
  const found = new Set();
  const look = (value) => {
    for (const [, name] of JSON.stringify(value).matchAll(/"#\/\$defs\/(\w+)"/g)) {
      if (found.has(name)) continue;
      found.add(name);
      look(defs[name]);
    }
  };
  look(parts);
  return Object.fromEntries(Object.entries(defs).filter(([name]) => found.has(name)));
}

/** The function `json` of the question in a file. */
function jsonOf(source) {
  let found = null;
  const look = (node) => {
    if (ts.isCallExpression(node) && node.expression.getText() === "question") {
      const property = node.arguments[0].properties.find((one) => one.name?.getText() === "json");
      found = property.initializer ?? property.name;
    }
    ts.forEachChild(node, look);
  };
  look(source);
  return found;
}

function writer(checker, place) {
  const defs = {};
  const names = new Map();

  /** A type as a schema; what has no place in JSON is null. */
  function written(type) {
    if (type.flags & ts.TypeFlags.StringLiteral) return { const: type.value };
    if (type.flags & ts.TypeFlags.NumberLiteral) return { const: type.value };
    if (type.flags & ts.TypeFlags.BooleanLiteral) return { const: checker.typeToString(type) === "true" };
    if (type.flags & ts.TypeFlags.Null) return { type: "null" };
    if (type.flags & ts.TypeFlags.Undefined) return null;
    if (type.flags & ts.TypeFlags.StringLike) return { type: "string" };
    if (type.flags & ts.TypeFlags.NumberLike) return { type: "number" };
    if (type.flags & ts.TypeFlags.Boolean) return { type: "boolean" };
    if (type.isUnion()) return union(type.types);
    if (type.getCallSignatures().length > 0) return null;
    if (checker.isTupleType(type)) return tuple(checker.getTypeArguments(type));
    if (checker.isArrayType(type))
      return { type: "array", items: written(checker.getTypeArguments(type)[0]) ?? {} };
    if (!type.isIntersection() && !(type.flags & ts.TypeFlags.Object))
      throw new Error(`no schema for ${checker.typeToString(type)}`);
    return named(type);
  }

  function tuple(members) {
    return {
      type: "array",
      prefixItems: members.map(written),
      minItems: members.length,
      maxItems: members.length,
    };
  }

  function union(types) {
    const parts = types.map(written).filter((one) => one !== null);
    const words = parts.filter((one) => "const" in one).map((one) => one.const);
    const others = parts.filter((one) => !("const" in one));
    const bools = words.includes(true) && words.includes(false);
    const plain = words.filter((word) => !(bools && typeof word === "boolean"));
    const all = [
      ...others,
      ...(bools ? [{ type: "boolean" }] : []),
      ...(plain.length === 0 ? [] : [plain.length === 1 ? { const: plain[0] } : { enum: plain }]),
    ];
    if (all.length === 1) return all[0];
    const simple = all.every((one) => Object.keys(one).length === 1 && typeof one.type === "string");
    return simple ? { type: all.map((one) => one.type) } : { anyOf: all };
  }

  function named(type) {
    const symbol = type.aliasSymbol ?? type.symbol;
    const name = symbol?.name;
    if (name === undefined || name.startsWith("__") || type.aliasTypeArguments || type.typeArguments?.length)
      return object(type);
    if (!names.has(type)) {
      let own = name;
      for (let k = 2; own in defs; k++) own = `${name}${k}`;
      names.set(type, own);
      defs[own] = {};
      const comment = described(symbol);
      Object.assign(defs[own], comment === "" ? {} : { description: comment }, object(type));
    }
    return { $ref: `#/$defs/${names.get(type)}` };
  }

  function object(type) {
    const properties = {};
    const required = [];
    for (const property of type.getProperties()) {
      if (property.name.startsWith("__")) continue;
      const schema = written(checker.getTypeOfSymbolAtLocation(property, place));
      if (schema === null) continue;
      const description = described(property);
      properties[property.name] = { ...(description === "" ? {} : { description }), ...schema };
      if (!(property.flags & ts.SymbolFlags.Optional)) required.push(property.name);
    }
    const index = type.getStringIndexType();
    return {
      type: "object",
      ...(Object.keys(properties).length === 0 ? {} : { properties, required }),
      additionalProperties: index === undefined ? false : written(index),
    };
  }

  /** A comment as one line, its links as plain names. */
  function described(symbol) {
    return ts
      .displayPartsToString(symbol.getDocumentationComment(checker))
      .replace(/\{@link (\w+)[^}]*\}/g, "$1")
      .replace(/\s+/g, " ")
      .trim();
  }

  return { written, defs };
}
