/**
 * How hard the texts for pupils are to read: npm run reading-age. Prints the automated readability index of `explain` and of
 * the notebook on errors, and every sentence over 25 words.
 *
 * Source: R. J. Senter and E. A. Smith, "Automated Readability Index", AMRL-TR-66-220 (1967): 4.71 characters a word + 0.5
 * words a sentence − 21.43 is a school grade of the United States; a pupil of grade 1 is six years old, so the age is the
 * grade + 5. It counts letters and words; it does not know what is explained.
 */
import { readFileSync } from "node:fs";

const LONGEST_WORDS = 25;
const [{ explain }, { termNames }] = await Promise.all([
  import(new URL("../dist/report/explain.js", import.meta.url)),
  import(new URL("../dist/mount/terms.js", import.meta.url)),
]);

const sentencesOf = (texts) =>
  texts.flatMap((text) =>
    text
      .replace(/[*_`#>|]/g, "")
      .split(/(?<=[.?!])\s+|\n{2,}/)
      .map((sentence) => sentence.trim())
      .filter((sentence) => /[a-z]/i.test(sentence)),
  );
const wordsOf = (sentence) => sentence.split(/\s+/).filter((word) => /[\p{L}\d]/u.test(word));

function measure(name, texts) {
  const sentences = sentencesOf(texts);
  const words = sentences.flatMap(wordsOf);
  const letters = words.join("").replace(/[^\p{L}\d]/gu, "").length;
  const grade = 4.71 * (letters / words.length) + 0.5 * (words.length / sentences.length) - 21.43;
  const long = sentences.filter((sentence) => wordsOf(sentence).length > LONGEST_WORDS);
  console.log(
    `${name}: ${words.length} words, ${sentences.length} sentences, index ${grade.toFixed(1)}, reading age ${(grade + 5).toFixed(0)}; ${long.length} over ${LONGEST_WORDS} words`,
  );
  for (const sentence of long) console.log(`  ${wordsOf(sentence).length}: ${sentence}`);
}

const spoken = (blocks) =>
  blocks.flatMap((block) =>
    block.kind === "sentence"
      ? [block.text]
      : block.kind === "list"
        ? block.items
        : spoken(block.blocks ?? []),
  );
measure(
  "explain",
  termNames.flatMap((name) => spoken(explain(name).blocks)),
);
const notebook = JSON.parse(
  readFileSync(new URL("../notebooks/07-learn-the-errors.ipynb", import.meta.url), "utf8"),
);
measure(
  "07-learn-the-errors",
  notebook.cells
    .filter(({ cell_type }) => cell_type === "markdown")
    .map(({ source }) =>
      [source]
        .flat()
        .join("")
        .replace(/(?<!\n)\n(?!\n)/g, " "),
    ),
);
