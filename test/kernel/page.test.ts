import { describe, expect, it } from "vitest";
import type { Notebook, Output } from "../../src/kernel/notebook-file.js";
import { notebookPage } from "../../src/kernel/page.js";
import { nightTheme } from "../../src/words/theme.js";
import { onScreen } from "../support/on-screen.js";

function prose(
  source: string,
  attachments?: Record<string, Record<string, string>>,
): Notebook["cells"][number] {
  return { cell_type: "markdown", id: "m", metadata: {}, source, ...(attachments ? { attachments } : {}) };
}

function code(source: string, ...outputs: Output[]): Notebook["cells"][number] {
  return { cell_type: "code", id: "c", metadata: {}, source, execution_count: 2, outputs };
}

function shown(data: Record<string, unknown>): Output {
  return { output_type: "display_data", data, metadata: {} };
}

function page(cells: Notebook["cells"], options = {}): string {
  return notebookPage({ nbformat: 4, nbformat_minor: 5, metadata: {}, cells }, options);
}

/** What stands on the page, without its head. */
function body(...cells: Notebook["cells"]): string {
  return /<main>([\s\S]*)<\/main>/.exec(page(cells))![1]!;
}

const DOT = "iVBORw0KGgo=";

describe("a notebook's page", () => {
  it("renders prose, and takes its title from the first heading", () => {
    const html = page([prose("Before.\n\n## The *first* night & more\n\n| a |\n|---|\n| 1 |")], {
      title: "file",
    });
    expect(html).toContain("<title>The first night &amp; more</title>");
    expect(html).toContain("<h2>The <em>first</em> night &amp; more</h2>");
    expect(html).toContain("<td>1</td>");
    expect(page([code("1")], { title: "a<b" })).toContain("<title>a&lt;b</title>");
  });

  it("obeys no HTML and no script in prose or code", () => {
    const html = body(
      prose(
        "<script>alert(1)</script> <img src=x onerror=alert(1)> [a](javascript:alert(1)) ![b](javascript:c)",
      ),
      code("const a = '</code></pre><script>alert(1)</script>';"),
    );
    expect(html).not.toMatch(/<script|<img|href=/);
    expect(html).toContain("&lt;script&gt;");
  });

  it("fetches nothing: pictures from elsewhere are named, attached ones stand in the page, and a policy forbids the rest", () => {
    const html = body(
      prose("![the *mount*](https://example.org/m.png) ![far](near.png)"),
      prose("![the dot](attachment:a%20dot.png)", { "a dot.png": { "image/png": DOT } }),
      prose("![gone](attachment:gone.png)"),
      prose("![odd](attachment:%FF) ![lost](attachment:%E0%A4%A)", { "%FF": { "image/png": DOT } }),
    );
    expect(html).toContain("[picture: the");
    expect(html).toContain("[picture: far]");
    expect(html).toContain(`<img src="data:image/png;base64,${DOT}" alt="the dot">`);
    expect(html).toContain("[picture: gone]");
    // A name that is no address's: taken as it stands.
    expect(html).toContain(`<img src="data:image/png;base64,${DOT}" alt="odd">`);
    expect(html).toContain("[picture: lost]");
    expect(html).not.toMatch(/example\.org|src="(?!data:)/);
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page([]))![1]!.split("; ");
    for (const rule of ["default-src", "form-action", "base-uri"]) expect(policy).toContain(`${rule} 'none'`);
  });

  it.each([
    [{ "text/plain": "p", "text/html": "<b>h</b>", "image/png": DOT }, '<div class="output"><b>h</b></div>'],
    [
      { "text/plain": 'a "disc"', "image/svg+xml": "<svg/>", "image/png": DOT },
      'src="data:image/svg+xml;base64,PHN2Zy8+" alt="a &quot;disc&quot;"',
    ],
    [{ "text/plain": "p", "image/png": `${DOT}\n` }, `src="data:image/png;base64,${DOT}" alt="p"`],
    [{ "image/png": DOT }, 'alt="A picture without a description."'],
    [{ "text/plain": "p", "text/markdown": "*m* <b>" }, "<em>m</em> &lt;b&gt;"],
    [{ "text/plain": "<p>" }, ">&lt;p&gt;</pre>"],
    [{ "application/json": {} }, "[an output that a page cannot show: application/json]"],
  ])("shows the richest form of an output: %j", (data, expected) => {
    expect(body(code("x", shown(data)))).toContain(expected);
  });

  it("shows streams without terminal colours, errors as such, and code that can be folded", () => {
    const html = body(
      code(
        "a < b\n",
        { output_type: "stream", name: "stdout", text: "\u001b[33mone\u001b[39m\n" },
        { output_type: "stream", name: "stderr", text: "two" },
        {
          output_type: "error",
          ename: "RangeError",
          evalue: "late",
          traceback: ["RangeError: late", "    at line 1"],
        },
      ),
      code("  "),
    );
    expect(html).toContain('<pre class="output stdout" tabindex="0">one</pre>');
    expect(html).toContain('<pre class="output stderr" tabindex="0">two</pre>');
    expect(html).toContain("<strong>This cell failed.</strong>\nRangeError: late\n    at line 1</pre>");
    expect(html).toMatch(
      /<details class="code" open><summary>Code <span>\[2\]<\/span><\/summary>.*a &lt; b<\/code>/,
    );
    expect(html.match(/<section/g)).toHaveLength(1);
  });

  it("is red on black at night: every colour of the page is without green and blue", () => {
    const head = onScreen(page([], { theme: nightTheme })).replace(/html body main img\{[^}]*\}/, "");
    const colours = head.match(/#[0-9a-f]{3,8}\b/gi) ?? [];
    expect(colours.length).toBeGreaterThan(10);
    for (const colour of colours) expect(colour).toMatch(/^#([0-9a-f]{2}0000|[0-9a-f]00)$/i);
    expect(head).toContain('content="dark"');
    expect(page([])).toContain('content="light"');
  });
});
