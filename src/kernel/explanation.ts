/**
 * What a notebook shows when a name is asked about: its signature, what it does, and its tags, each with its word.
 */

/** A piece of text as TypeScript gives it. */
interface TextPart {
  readonly text: string;
}

/** What TypeScript knows of a name, as far as it is shown. */
export interface NameInfo {
  readonly displayParts?: readonly TextPart[];
  readonly documentation?: readonly TextPart[];
  readonly tags?: readonly { readonly name: string; readonly text?: readonly TextPart[] }[];
}

/** The words before a tag's text; other tags are left out. */
const WORDS: Readonly<Record<string, string>> = {
  param: "  ",
  returns: "Returns: ",
  throws: "Throws: ",
  deprecated: "Deprecated: ",
  example: "Example:\n",
};

/**
 * The explanation of a name as plain text.
 *
 * @param info - what TypeScript knows of it
 */
export function explanation(info: NameInfo): string {
  // That a name was imported is not what is asked.
  const signature = joined(info.displayParts)
    .replace(/^\(alias\) /, "")
    .replace(/\nimport .*$/, "");
  const tags = (info.tags ?? []).flatMap(({ name, text }) => {
    const words = Object.hasOwn(WORDS, name) ? WORDS[name] : undefined;
    const said = joined(text);
    if (words === undefined || said === "") return [];
    return [words + (name === "example" ? indented(unfenced(said)) : said)];
  });
  return [signature, joined(info.documentation), tags.join("\n")]
    .filter((block) => block !== "")
    .join("\n\n");
}

function joined(parts: readonly TextPart[] | undefined): string {
  return (parts ?? [])
    .map(({ text }) => text)
    .join("")
    .trim();
}

/** Code without the marks of Markdown round it. */
function unfenced(code: string): string {
  return code.replace(/^```\w*\n/, "").replace(/\n```$/, "");
}

function indented(text: string): string {
  return text.replace(/^(?=.)/gm, "  ");
}
