/** Day and night: two buttons, kept in this browser; a third makes the night's red dimmer. */
import { part } from "./dom.js";
import { keep, recall } from "./memory.js";

const THEME_KEY = "polewright-theme";
const DIM_KEY = "polewright-dim";
const DIMMEST = 2;

/** Brings the page's theme buttons to life: ids `day`, `night` and `dimmer`. */
export function themeButtons(): void {
  const root = document.documentElement;
  const [day, night, dimmer] = [part("day"), part("night"), part("dimmer")];
  const dress = (theme: string): void => {
    root.dataset.theme = theme;
    day.setAttribute("aria-pressed", String(theme === "day"));
    night.setAttribute("aria-pressed", String(theme === "night"));
    dimmer.hidden = theme !== "night";
    keep(THEME_KEY, theme);
  };
  const dim = (level: number): void => {
    root.dataset.dim = String(level);
    keep(DIM_KEY, level);
  };
  dim(recall(DIM_KEY, 0));
  dress(recall(THEME_KEY, root.dataset.theme === "night" ? "night" : "day"));
  day.addEventListener("click", () => dress("day"));
  night.addEventListener("click", () => dress("night"));
  dimmer.addEventListener("click", () => dim((Number(root.dataset.dim) + 1) % (DIMMEST + 1)));
}
