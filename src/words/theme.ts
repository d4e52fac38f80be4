/**
 * Themes: the colours and letters of tables, figures and pages, as plain data.
 *
 * The light palette takes its hues from M. Okabe and K. Ito, "Color Universal Design" (2002, revised 2008), a
 * published palette that stays distinct for colour-blind eyes. The night theme is red on black: every colour has
 * green and blue of zero, so that the page spares dark-adapted eyes; things are told apart there by shape and brightness.
 */

/** The colours of one theme, each named by what it is for. CSS colours. */
export interface ThemeColours {
  /** Behind everything. */
  readonly page: string;
  /** Behind a figure. */
  readonly panel: string;
  readonly text: string;
  /** Text of lesser weight. */
  readonly muted: string;
  /** Grid lines and rings. */
  readonly grid: string;
  /** Axis lines, table rules. */
  readonly rule: string;
  /** The main thing shown. */
  readonly first: string;
  /** The second thing shown. */
  readonly second: string;
  /** The third thing shown. */
  readonly third: string;
  /** What was set aside. */
  readonly aside: string;
  /** The band of what is expected. */
  readonly band: string;
  /** A soft fill of the first colour. */
  readonly firstSoft: string;
  /** A soft fill of the second colour. */
  readonly secondSoft: string;
  /** Ground, steel, wood: things that stand there. */
  readonly body: string;
  /** Where the telescope may not point. */
  readonly barred: string;
  readonly cautionBack: string;
  readonly cautionEdge: string;
  /** Rows of a table, every other one. */
  readonly stripe: string;
  /** Behind a verdict. */
  readonly verdictBack: string;
}

/** A theme. */
export interface Theme {
  readonly name: "light" | "night";
  readonly colours: ThemeColours;
  /** From little to much: position between 0 and 1, colour. */
  readonly scale: readonly (readonly [number, string])[];
  readonly fontFamily: string;
  /** Letters of figures and tables, pixels; never under 14, to be read at arm's length. */
  readonly fontSizePx: number;
}

const FONT = "'Noto Sans', 'DejaVu Sans', Verdana, sans-serif";
const FONT_SIZE_PX = 15;

/** Black on white, for the desk and for paper. */
export const lightTheme: Theme = {
  name: "light",
  colours: {
    page: "#ffffff",
    panel: "#fffffe",
    text: "#1a1a1a",
    muted: "#545454",
    grid: "#d8d8d8",
    rule: "#8c8c8c",
    first: "#0072b2",
    second: "#d55e00",
    third: "#007a59",
    aside: "#a34a82",
    band: "#e7eef3",
    firstSoft: "#cfe4f1",
    secondSoft: "#f9dfcc",
    body: "#b9b4ab",
    barred: "#ececea",
    cautionBack: "#fff4d6",
    cautionEdge: "#e69f00",
    stripe: "#f5f5f4",
    verdictBack: "#eaf3f9",
  },
  scale: [
    [0, "#f1f7fb"],
    [0.25, "#cde3f0"],
    [0.5, "#a9cfe5"],
    [0.75, "#83b9d9"],
    [1, "#5ca2cb"],
  ],
  fontFamily: FONT,
  fontSizePx: FONT_SIZE_PX,
};

/** Red on black, for the telescope. */
export const nightTheme: Theme = {
  name: "night",
  colours: {
    page: "#000000",
    panel: "#000000",
    text: "#ff0000",
    muted: "#f00000",
    grid: "#4d0000",
    rule: "#7a0000",
    first: "#ff0000",
    second: "#c40000",
    third: "#a80000",
    aside: "#9c0000",
    band: "#260000",
    firstSoft: "#4a0000",
    secondSoft: "#330000",
    body: "#520000",
    barred: "#1a0000",
    cautionBack: "#1c0000",
    cautionEdge: "#d90000",
    stripe: "#120000",
    verdictBack: "#1c0000",
  },
  scale: [
    [0, "#0f0000"],
    [0.25, "#270000"],
    [0.5, "#400000"],
    [0.75, "#5a0000"],
    [1, "#740000"],
  ],
  fontFamily: FONT,
  fontSizePx: FONT_SIZE_PX,
};

/** The themes by their names. */
export const themes: Readonly<Record<Theme["name"], Theme>> = { light: lightTheme, night: nightTheme };
