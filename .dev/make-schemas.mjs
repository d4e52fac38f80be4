/**
 * Writes data/schema/mount.schema.json from the grammar that reads mount files; `--check` only says whether it stands.
 * Call it after `npm run build`.
 */
import { readFileSync, writeFileSync } from "node:fs";
import { allowedText, isNeeded, mountSchema } from "../dist/mount/mount-schema.js";

const file = new URL("../data/schema/mount.schema.json", import.meta.url);

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

const text = `${JSON.stringify(
  {
    $schema: "https://json-schema.org/draft/2020-12/schema",
    $id: "mount.schema.json",
    title: "mount.json of Polewright",
    ...jsonSchema(mountSchema),
  },
  null,
  1,
)}\n`;
if (!process.argv.includes("--check")) writeFileSync(file, text);
else if (readFileSync(file, "utf8") !== text) {
  console.error("data/schema/mount.schema.json is not what the grammar says: run node .dev/make-schemas.mjs");
  process.exitCode = 1;
}
