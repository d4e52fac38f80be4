/** The controls: a slider for each error. */
import { type BuiltInTermName, termDescriptions, turningTerms } from "../../../mount/terms.js";
import { signed } from "../../../words/numbers.js";
import { make } from "../shared/dom.js";

/** What goes under "more"; those that turn the telescope stand in sight. */
const MORE: readonly BuiltInTermName[] = [
  "hourAngleZero",
  "declinationZero",
  "hourAngleEccentricSin",
  "hourAngleEccentricCos",
  "declinationEccentricSin",
  "declinationEccentricCos",
  "hourAngleScale",
  "declinationScale",
];
const MOST_ARCMIN = 60;

/** A slider for each error. */
export class ErrorControls {
  /** The errors as they are set now, arcminutes. */
  readonly values = new Map<BuiltInTermName, number>();
  private readonly sliders: HTMLInputElement[] = [];

  constructor(shown: HTMLElement, more: HTMLElement, changed: () => void) {
    shown.append(...turningTerms.map((name) => this.control(name, changed)));
    more.append(...MORE.map((name) => this.control(name, changed)));
  }

  /** All errors gone. */
  clear(): void {
    for (const slider of this.sliders) {
      slider.value = "0";
      slider.dispatchEvent(new Event("input"));
    }
  }

  private control(name: BuiltInTermName, changed: () => void): HTMLElement {
    const { label, positive, unit } = termDescriptions[name];
    const id = `error-${name}`;
    const output = make("output", { for: id });
    const slider = make("input", {
      type: "range",
      id,
      min: -MOST_ARCMIN,
      max: MOST_ARCMIN,
      step: 1,
      value: 0,
      "aria-describedby": `${id}-means`,
    });
    const take = (): void => {
      const value = Number(slider.value);
      const text = `${signed(value, 0)}′${unit === "arcmin" ? "" : "/rad"}`;
      output.textContent = text;
      slider.setAttribute("aria-valuetext", `${value} arcminutes`);
      this.values.set(name, value);
      changed();
    };
    slider.addEventListener("input", take);
    this.sliders.push(slider);
    output.textContent = "0′";
    this.values.set(name, 0);
    const means = make("span", { id: `${id}-means`, class: "unseen" }, `Positive: ${positive}.`);
    const title = `${label[0]!.toUpperCase()}${label.slice(1)} `;
    return make("div", { class: "control" }, make("label", { for: id }, title, output), means, slider);
  }
}
