/** Large letters for a screen that is read from some steps away: of full blocks, five lines high. */

/** Five rows of three dots each; a row's digit has its dots as bits, the left one 4. */
const GLYPHS: Readonly<Record<string, string>> = {
  "0": "75557",
  "1": "26227",
  "2": "71747",
  "3": "71717",
  "4": "55711",
  "5": "74717",
  "6": "74757",
  "7": "71122",
  "8": "75757",
  "9": "75717",
  ".": "00002",
  ",": "00024",
  "-": "00700",
  "+": "02720",
  "/": "11244",
  "′": "22000",
  A: "25755",
  B: "65656",
  C: "34443",
  D: "65556",
  E: "74647",
  F: "74644",
  G: "34553",
  H: "55755",
  I: "72227",
  J: "11152",
  K: "55655",
  L: "44447",
  M: "57755",
  N: "65555",
  O: "25552",
  P: "65644",
  Q: "25563",
  R: "65655",
  S: "34216",
  T: "72222",
  U: "55557",
  V: "55552",
  W: "55775",
  X: "55255",
  Y: "55222",
  Z: "71247",
};
const ROWS = 5;
const BLANK = "00000";
const DOTS = [4, 2, 1] as const;

/**
 * A text in large letters, capitals all; what has no glyph is left blank.
 *
 * @param width - of the screen, characters: a long text gets narrow letters, and is cut where even they do not fit
 * @returns five lines
 * @example
 * ```ts
 * largeLetters("1.5")[0]; // "  ██            ██████"
 * ```
 */
export function largeLetters(text: string, width = 80): string[] {
  const letters = [...text.normalize("NFD").replace(/\p{M}/gu, "").replace("−", "-").toUpperCase()];
  const isWide = 8 * letters.length - 2 <= width;
  const [dot, gap] = isWide ? ["██", "  "] : ["█", " "];
  const most = Math.floor((width + 1) / (isWide ? 8 : 4));
  const shown = letters.slice(0, most).map((letter) => GLYPHS[letter] ?? BLANK);
  return Array.from({ length: ROWS }, (_, row) =>
    shown
      .map((glyph) => DOTS.map((bit) => ((Number(glyph[row]) & bit) > 0 ? dot : gap)).join(""))
      .join(gap)
      .trimEnd(),
  );
}
