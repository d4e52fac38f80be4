import { type Theme, themes } from "../words/theme.js";

/** The kernel's sign in Jupyter, in a theme's own colours: a levelled base, an axis raised to the pole, the pole's star. */
export function kernelLogo(theme: Theme["name"]): string {
  const { page, rule, text, first, second } = themes[theme].colours;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 64 64" width="64" height="64">
<title>Polewright</title>
<rect x="1" y="1" width="62" height="62" rx="10" fill="${page}" stroke="${rule}" stroke-width="2"/>
<path d="M10 52h44" stroke="${text}" stroke-width="4" stroke-linecap="round"/>
<path d="M16 52L44 20" stroke="${first}" stroke-width="5" stroke-linecap="round"/>
<path d="M31 52a15 15 0 0 0-5-11.300" fill="none" stroke="${text}" stroke-width="2.500"/>
<circle cx="51" cy="12" r="4.500" fill="${second}"/>
</svg>
`;
}
