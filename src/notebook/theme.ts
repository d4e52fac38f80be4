import { InputError, shown } from "../errors.js";
import { type Theme, themes } from "../words/theme.js";

const VARIABLE = "POLEWRIGHT_THEME";

let chosen: Theme | null = null;

/** The theme that tables, figures and pages are shown in: the chosen one, else that of POLEWRIGHT_THEME, else light. */
export function currentTheme(): Theme {
  if (chosen !== null) return chosen;
  const wanted = process.env[VARIABLE];
  return wanted === undefined || wanted === "" ? themes.light : themeByName(wanted, VARIABLE);
}

/** Chooses the theme for what is shown from here on; null leaves it to POLEWRIGHT_THEME again. */
export function chooseTheme(theme: Theme["name"] | Theme | null): void {
  chosen = typeof theme === "string" ? themeByName(theme, "theme") : theme;
}

/**
 * A theme by its name.
 *
 * @throws InputError `unknown-theme`
 */
export function themeByName(name: string, path = "theme"): Theme {
  if (Object.hasOwn(themes, name)) return themes[name as Theme["name"]];
  throw new InputError({
    code: "unknown-theme",
    path,
    message: "There is no theme of that name.",
    found: shown(name),
    allowed: Object.keys(themes).join(" or "),
  });
}
