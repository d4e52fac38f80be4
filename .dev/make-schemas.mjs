/**
 * Writes data/schema: the mount file's schema from the grammar that reads it, those of the answers from their types;
 * `--check` only says whether they stand. The schemas of `byHand` hold ranges that types do not tell.
 * Call it after `npm run build`.
 */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { questions } from "../dist/answers/list.js";
import { allowedText, isNeeded, mountSchema } from "../dist/mount/mount-schema.js";
import { answerSchemas } from "./answer-schemas.mjs";

const byHand = ["fit", "turns", "drift", "exposure", "plan", "find", "keep", "desk", "procedure"];
const draft = "https://json-schema.org/draft/2020-12/schema";

function unwrapped(schema) {
  return schema.wrapped === undefined ? schema : unwrapped(schema.wrapped);
}

/** A valibot schema as JSON Schema. Ranges stand in words: they are checked by code. */
function jsonSchema(schema) {
  const inner = unwrapped(schema);
  const description = allowedText(inner);
  const mayBeNull = schema.type === "nullish";
  const typed = (type) => ({ description, type: mayBeNull ? [type, "null"] : type });
  switch (inner.type) {
    case "object":
      return {
        ...typed("object"),
        properties: Object.fromEntries(
          Object.entries(inner.entries).map(([key, one]) => [key, jsonSchema(one)]),
        ),
        required: Object.keys(inner.entries).filter((key) => isNeeded(inner.entries[key])),
        additionalProperties: false,
      };
    case "array":
      return { ...typed("array"), items: jsonSchema(inner.item) };
    case "strict_tuple":
      return { ...typed("array"), prefixItems: inner.items.map(jsonSchema), minItems: 2, maxItems: 2 };
    case "picklist":
      return { description, enum: mayBeNull ? [...inner.options, null] : inner.options };
    default:
      return typed(inner.type);
  }
}

const answers = answerSchemas(Object.keys(questions).filter((name) => !byHand.includes(name)));
const schemas = {
  mount: {
    $schema: draft,
    $id: "mount.schema.json",
    title: "mount.json of Polewright",
    ...jsonSchema(mountSchema),
  },
  ...answers,
};
const stale = [];
for (const [name, schema] of Object.entries(schemas)) {
  const file = new URL(`../data/schema/${name}.schema.json`, import.meta.url);
  const text = `${JSON.stringify(schema, null, 1)}\n`;
  if (existsSync(file) && readFileSync(file, "utf8") === text) continue;
  if (process.argv.includes("--check")) stale.push(name);
  else writeFileSync(file, text);
}
if (stale.length > 0) {
  console.error(
    `data/schema is not what the code says (${stale.join(", ")}): run node .dev/make-schemas.mjs`,
  );
  process.exitCode = 1;
}
