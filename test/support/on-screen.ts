/** HTML without what its styles say of paper: what a screen shows of it. */
export function onScreen(html: string): string {
  let text = html;
  for (let start = text.indexOf("@media print{"); start >= 0; start = text.indexOf("@media print{")) {
    let end = text.indexOf("{", start) + 1;
    for (let open = 1; open > 0 && end < text.length; end++) {
      open += text[end] === "{" ? 1 : text[end] === "}" ? -1 : 0;
    }
    text = text.slice(0, start) + text.slice(end);
  }
  return text;
}
