/** The project's words: plain ones in all that a user reads, and short sentences in the README. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import ts from "typescript";
import { expect, it } from "vitest";

const ROOT = new URL("../../", import.meta.url).pathname;
const LONGEST_SENTENCE_WORDS = 28;

/** What a reader in a hurry stumbles over, and what to write instead. */
const INSTEAD: readonly (readonly [RegExp, string])[] = [
  [/\bmend(s|ed|ing)?\b|\bput(s|ting)? (it )?right\b|\bsets? it right\b/i, "fix, correct"],
  [/\breckon(s|ed|ing)?\b/i, "calculate"],
  [/\btell(s|ing)?\b|\btold\b/i, "measure, show, distinguish, say"],
  [/\banew\b/i, "again"],
  [/\bmay as well be\b/i, "could equally be"],
  [/\bhardly\b|\bpart them\b/i, "cannot (yet) distinguish"],
  [/\bstands? too\b/i, "points too high, is off"],
  [/\b(model|label|finding|readings?) holds?\b|\bholds? (for|either)\b/i, "is valid, applies"],
  [/\b(was|is|were) taken in\b/i, "was added to the model"],
  [/\bmisnamed\b/i, "misidentified"],
  [/\bset(s|ting)? aside\b/i, "excluded from the fit"],
  [/\bdraw(s|n)? (the stars |stars )?out\b/i, "trails, smears"],
];

/** Words of the JSON answers, which stay as they are. */
const CODES: ReadonlySet<string> = new Set(["starts anew", "set aside", "not told"]);

/** The texts of a source file that may be read by a user: literals of more than one word. */
function textsOf(path: string): string[] {
  const texts: string[] = [];
  const visit = (node: ts.Node): void => {
    if (ts.isStringLiteralLike(node) || ts.isTemplateHead(node) || ts.isTemplateMiddleOrTemplateTail(node))
      texts.push(node.text);
    ts.forEachChild(node, visit);
  };
  const code = readFileSync(path, "utf8");
  if (!INSTEAD.some(([words]) => words.test(code))) return [];
  visit(ts.createSourceFile(path, code, ts.ScriptTarget.Latest));
  return texts.filter((text) => /\S\s\S/.test(text.trim()) && !CODES.has(text));
}

function stumbles(texts: readonly string[], where: string): string[] {
  return texts.flatMap((text) =>
    INSTEAD.flatMap(([words, better]) => {
      const found = words.exec(text)?.[0];
      return found === undefined ? [] : [`${where}: “${found}” (write: ${better}) in: ${text.trim()}`];
    }),
  );
}

const readme = readFileSync(join(ROOT, "README.md"), "utf8");

/** The README's sentences, without code, tables and pictures. */
function sentences(markdown: string): string[] {
  return markdown
    .replace(/```[\s\S]*?```/g, "")
    .replace(/^(#|\||!).*$/gm, "\n")
    .replace(/^- /gm, "\n\n")
    .split(/\n\s*\n/)
    .flatMap((paragraph) =>
      paragraph
        .replace(/\s+/g, " ")
        .trim()
        .split(/(?<=[.!?]) (?=[A-Z`])/),
    );
}

it("finds a quaint word, and a long sentence", () => {
  expect(stumbles(["Mend this first."], "here")).toHaveLength(1);
  expect(sentences("One two. Three.\n\n- Four: `x.y` five.")).toEqual([
    "One two.",
    "Three.",
    "Four: `x.y` five.",
  ]);
});

it("keeps quaint words out of what the sources say", () => {
  const files = readdirSync(join(ROOT, "src"), { recursive: true, encoding: "utf8" }).filter((file) =>
    file.endsWith(".ts"),
  );
  expect(files.length).toBeGreaterThan(100);
  expect(files.flatMap((file) => stumbles(textsOf(join(ROOT, "src", file)), file))).toEqual([]);
});

it("keeps quaint words and long sentences out of the README", () => {
  expect(stumbles(readme.split("\n"), "README.md")).toEqual([]);
  expect(sentences(readme).filter((one) => one.split(" ").length > LONGEST_SENTENCE_WORDS)).toEqual([]);
});
