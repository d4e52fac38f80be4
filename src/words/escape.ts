/**
 * Text from outside (names, notes, paths) is made harmless before it enters HTML, a script or a terminal.
 */

const htmlEntities: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** Control characters that neither HTML nor XML may hold: a picture with one in it is not drawn at all. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is replaced
const control = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/g;

/**
 * Text as HTML text or attribute value, or as XML's; control characters become dots.
 *
 * @example
 * ```ts
 * escapeHtml("<b>") // "&lt;b&gt;"
 * ```
 */
export function escapeHtml(text: string): string {
  return text.replace(control, "·").replace(/[&<>"']/g, (character) => htmlEntities[character]!);
}

/**
 * A value as JSON that may stand inside a `<script>`: no `<`, `>` or `&`, which could end or comment out the script,
 * and no U+2028 or U+2029, which older engines take for the end of a line.
 */
export function scriptJson(value: unknown): string {
  return JSON.stringify(value).replace(
    /[<>&\u2028\u2029]/g,
    (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}

/** A script's source so that nothing in it ends the `<script>` element that holds it. */
export function scriptSource(source: string): string {
  return source.replace(/<\/(script)/gi, "<\\/$1").replace(/<!--/g, "<\\!--");
}

/** Text for a figure: plotly reads a little HTML in its texts, which names and notes must not write. */
export function escapeFigureText(text: string): string {
  return text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
}

/** Characters that could move a terminal's cursor, end a line or turn the direction of writing; not the newline. */
const unprintable = /[\p{Control}\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu;

/** Text for a terminal: control characters and direction marks, which could move the cursor or hide text, become dots. */
export function plainText(text: string): string {
  return text.replace(unprintable, (character) => (character === "\n" ? character : "·"));
}

/**
 * JSON for a terminal: of the same characters those that JSON leaves as they are, as `\u` and their number, so that what is
 * read from it is unchanged.
 */
export function plainJson(json: string): string {
  return json.replace(unprintable, (character) =>
    character < " " ? character : `\\u${character.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}
