/** The few things that every page does with its document. */

/** What an element may be given: properties of its own, `data-…` and `aria-…` attributes, and its class. */
type Given = Readonly<Record<string, string | number | boolean | ((event: Event) => void)>>;

/**
 * Makes an element. Texts are put in as text, never as HTML.
 *
 * @param tag - its name
 * @param given - attributes; a function is a listener for the event of that name; true and false stand for a bare attribute
 * @param children - elements and texts
 */
export function make<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  given: Given = {},
  ...children: readonly (Node | string)[]
): HTMLElementTagNameMap[Tag] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (typeof value === "function") element.addEventListener(name, value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false) element.setAttribute(name, String(value));
  }
  element.append(...children);
  return element;
}

/** The element of that id, which the page's HTML has. */
export function part<Kind extends HTMLElement = HTMLElement>(id: string): Kind {
  const found = document.getElementById(id);
  if (found === null) throw new Error(`The page has no part ${id}.`);
  return found as Kind;
}

/** Puts a text into an element, touching the document only where it is another one. */
export function say(element: Element, text: string): void {
  if (element.textContent !== text) element.textContent = text;
}

/** What the page was made with: the JSON in its script of that id. */
export function pageData<Data>(id: string): Data {
  return JSON.parse(part(id).textContent ?? "null") as Data;
}
