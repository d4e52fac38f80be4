/** The list of tonight's objects: by how well they stand, with search, and a tick for what has been shown. */
import { InputError } from "../../../errors.js";
import { type Target, targetNamed } from "../../../find/target.js";
import { compareStands, type Stand } from "../../../find/tonight-list.js";
import { nameKey } from "../../../sky/name-key.js";
import { fixed } from "../../../words/numbers.js";
import { make, part, say } from "../shared/dom.js";
import type { DeskClock } from "./clock.js";
import type { DeskMemory } from "./state.js";
import { kindText } from "./words.js";

/** A target and how it stands; the stand is null while it has not been looked at yet. */
export interface Listed {
  readonly target: Target;
  readonly kind: string;
  readonly searched: string;
  stand: Stand | null;
}

const HEADINGS = { now: "Stand well now", later: "Later tonight", "not tonight": "Not tonight" };

/** A target as the list keeps it. */
export function listed(target: Target, timeMs: number): Listed {
  const kind = kindText(target.description, target.magnitude(timeMs));
  return { target, kind, searched: nameKey(`${target.label} ${target.description}`), stand: null };
}

/** The list on the page. */
export class ObjectList {
  private shown: readonly Listed[] = [];

  constructor(
    private readonly all: readonly Listed[],
    private readonly memory: DeskMemory,
    private readonly clock: DeskClock,
    private readonly choose: (target: Target, byHand: boolean) => void,
  ) {}

  start(): void {
    const search = part<HTMLInputElement>("search");
    search.addEventListener("input", () => this.draw());
    search.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      this.chooseFirst(search.value);
    });
    part("hide-ticked").addEventListener("change", () => this.draw());
    document.addEventListener("keydown", (event) => {
      const typing =
        event.target instanceof HTMLElement &&
        event.target.matches("input[type=text],input[type=search],textarea");
      if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      search.focus();
      search.select();
    });
  }

  /** What is named so, whether the list has it or not; else the first of what is listed. */
  private chooseFirst(text: string): void {
    const first = this.shown[0];
    try {
      const named = targetNamed(text);
      this.choose(this.all.find(({ target }) => target.label === named.label)?.target ?? named, true);
    } catch (problem) {
      if (!(problem instanceof InputError)) throw problem;
      if (first !== undefined) this.choose(first.target, true);
      else say(part("found-count"), problem.faults.map((fault) => fault.message).join(" "));
    }
  }

  /** Draws the list anew. */
  draw(): void {
    const words = part<HTMLInputElement>("search").value.trim();
    const wanted = words
      .split(/\s+/)
      .map(nameKey)
      .filter((key) => key !== "");
    const whole = nameKey(words);
    const hideTicked = part<HTMLInputElement>("hide-ticked").checked;
    const ticked = new Set(this.memory.now.ticked);
    const known = this.all.filter(({ stand }) => stand !== null);
    const fits = known.filter(
      ({ target, searched, stand }) =>
        (wanted.length === 0
          ? stand?.when !== "not tonight"
          : searched.includes(whole) || wanted.every((key) => searched.includes(key))) &&
        !(hideTicked && ticked.has(target.label)),
    );
    this.shown = fits.sort((a, b) => compareStands(a.stand!, b.stand!));
    const focused = document.activeElement?.id ?? "";
    const groups = (["now", "later", "not tonight"] as const).flatMap((when) => {
      const some = this.shown.filter(({ stand }) => stand!.when === when);
      if (some.length === 0) return [];
      return [make("h3", {}, HEADINGS[when]), make("ul", {}, ...some.map((one) => this.row(one, ticked)))];
    });
    part("objects").replaceChildren(...groups);
    if (focused.startsWith("object-")) document.getElementById(focused)?.focus();
    say(
      part("found-count"),
      this.shown.length === 0 && words !== ""
        ? "Nothing of that name in the list. Press Enter to look for it among all stars, or as coordinates."
        : `${this.shown.length} of ${this.all.length} listed; ${ticked.size} shown.`,
    );
  }

  private row(one: Listed, ticked: ReadonlySet<string>): HTMLLIElement {
    const { target, kind, stand } = one;
    const id = `object-${nameKey(target.label)}`;
    const isTicked = ticked.has(target.label);
    const radio = make("input", {
      type: "radio",
      name: "object",
      id,
      checked: this.memory.now.chosen === target.label,
      change: () => this.choose(target, false),
    });
    const label = make(
      "label",
      { for: id, click: () => this.choose(target, true) },
      make("strong", {}, target.label),
      make("span", { class: "soft number" }, `${kind}${kind === "" ? "" : " · "}${this.standText(stand!)}`),
    );
    const tick = make("input", {
      type: "checkbox",
      "aria-label": `${target.label} has been shown`,
      checked: isTicked,
      change: (event) => this.tick(target.label, (event.target as HTMLInputElement).checked),
    });
    return make(
      "li",
      isTicked ? { class: "ticked" } : {},
      radio,
      label,
      make("label", { class: "check tick" }, tick, "shown"),
    );
  }

  private standText(stand: Stand): string {
    if (stand.when === "now") {
      const until = stand.untilMs === null ? "all night" : `until ${this.clock.minute(stand.untilMs)}`;
      return `${fixed(stand.altitudeDeg, 0)}° up · ${until}`;
    }
    return stand.fromMs === null ? stand.why : `from ${this.clock.minute(stand.fromMs)}`;
  }

  private tick(label: string, isShown: boolean): void {
    const others = this.memory.now.ticked.filter((one) => one !== label);
    this.memory.change({ ticked: isShown ? [...others, label] : others });
    this.draw();
  }
}
