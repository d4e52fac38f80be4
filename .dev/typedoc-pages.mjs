/** Two pages beside the API reference: the methods, as DEVELOPERS.md has them, and what every file may hold. */
import { readFileSync } from "node:fs";
import { Comment, CommentTag, Converter, DocumentReflection } from "typedoc";
import { describe } from "../dist/answers/describe.js";
import { MAIN_PAGES } from "./typedoc-rooms.mjs";

const METHODS = ["The model", "The statistical model", "The base"];
const FILES = {
  mount: "mount.json",
  night: "night.csv",
  turned: "turned.csv",
  drifts: "drifts.csv",
  track: "track.csv",
};

function methods() {
  const sections = readFileSync(new URL("../DEVELOPERS.md", import.meta.url), "utf8").split(/^(?=## )/m);
  return METHODS.map((title) => {
    const section = sections.find((text) => text.startsWith(`## ${title}\n`));
    if (!section) throw new Error(`DEVELOPERS.md has no section "${title}" for the page of methods.`);
    return section;
  }).join("");
}

const HEADS = {
  name: "name",
  needed: "must be there",
  meaning: "what it holds",
  unit: "unit",
  allowed: "what may be written",
  default: "where left out",
  example: "example",
};
const cell = (value) =>
  value === true
    ? "yes"
    : String(value || "")
        .replaceAll("|", "\\|")
        .replaceAll("<", "&lt;");
/** As code: else `readings.hourAngle.as` would be taken for the address of a site. */
const named = (column, value) => (column === "name" ? `\`${value}\`` : value);
const row = (values) => `| ${values.map(cell).join(" | ")} |\n`;

/** A table of what `describe` says of a file, without the columns that nothing stands in. */
async function fileSection([kind, file]) {
  const { entries } = (await describe.answer({ file: kind }, null)).json;
  const columns = Object.keys(HEADS).filter((column) => entries.some((one) => one[column]));
  const rows = entries.map((one) => row(columns.map((column) => named(column, one[column]))));
  return `## ${file}\n\n${row(columns.map((column) => HEADS[column]))}${row(columns.map(() => "---"))}${rows.join("")}`;
}

async function fileReference() {
  const head =
    "`polewright describe` prints the same. Examples are invented. An editor that knows JSON schemas checks `mount.json` while " +
    "you type, where `$schema` in it names `data/schema/mount.schema.json` of the installed package.";
  return [head, ...(await Promise.all(Object.entries(FILES).map(fileSection)))].join("\n\n");
}

export async function load(app) {
  const pages = [
    ["Methods", methods()],
    ["File reference", await fileReference()],
  ];
  app.converter.on(Converter.EVENT_CREATE_PROJECT, ({ project }) => {
    for (const [name, text] of pages) {
      const page = new DocumentReflection(name, project, [{ kind: "text", text }], {});
      page.comment = new Comment([], [new CommentTag("@category", [{ kind: "text", text: MAIN_PAGES }])]);
      project.addChild(page);
      project.registerReflection(page, undefined, undefined);
    }
  });
}
