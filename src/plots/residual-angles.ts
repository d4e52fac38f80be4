import type { MountFit, Residual } from "../fit/fit-result.js";
import { arcminText, fixed, signed } from "../words/numbers.js";
import { lightTheme, type Theme } from "../words/theme.js";
import { axis, chartLayout, niceAbove, outlined, rounded, type Trace, traceOf } from "./drawing.js";
import type { Figure } from "./figure.js";
import { pictured } from "./pictured.js";
import { sightingHover } from "./residual-sky.js";

const HEIGHT_PX = 720;

interface Component {
  readonly key: "west" | "north";
  readonly name: string;
  readonly colour: string;
  readonly symbol: string;
}

/**
 * The residuals westward and northward against hour angle (above) and against declination (below), with the band that
 * the encoders and the centring lead one to expect.
 *
 * @param whole - a fit
 * @param theme - the colours; light when not given
 */
export function residualAngles(whole: MountFit, theme: Theme = lightTheme): Figure {
  const { fit, said } = pictured(whole);
  const { colours } = theme;
  const used = fit.residuals.filter((residual) => residual.standing === "used");
  const expected = rootMeanSquare(
    used.flatMap((residual) => [residual.expectedWest, residual.expectedNorth]),
  );
  const largest = Math.max(
    2.2 * expected,
    ...used.flatMap((residual) => [Math.abs(residual.west), Math.abs(residual.north)]),
    0.1,
  );
  const reach = 1.15 * largest;
  const components: readonly Component[] = [
    { key: "west", name: "westward", colour: colours.first, symbol: "circle" },
    { key: "north", name: "northward", colour: colours.second, symbol: "square-open" },
  ];
  const hourReach =
    Math.max(6, ...fit.residuals.map((residual) => Math.abs(residual.hourAngleDeg / 15))) + 0.3;
  const declinations = fit.residuals.map((residual) => residual.declinationDeg);
  const declinationRange = [
    Math.max(-93, Math.floor((Math.min(0, ...declinations) - 5) / 10) * 10),
    Math.min(93, Math.ceil((Math.max(0, ...declinations) + 5) / 10) * 10),
  ] as const;
  const panels = [
    { suffix: "", range: [-hourReach, hourReach] as const, at: (r: Residual) => r.hourAngleDeg / 15 },
    { suffix: "2", range: declinationRange, at: (r: Residual) => r.declinationDeg },
  ];
  const traces: Trace[] = [];
  panels.forEach(({ suffix, range, at }, panel) => {
    const axes = { xaxis: `x${suffix}`, yaxis: `y${suffix}` };
    const [from, to] = range;
    traces.push({
      ...traceOf.lines,
      name: `expected, ± ${fixed(expected, 1)}′`,
      x: [rounded(from), rounded(to), rounded(to), rounded(from), rounded(from)],
      y: [-expected, -expected, expected, expected, -expected].map(rounded),
      fill: "toself",
      fillcolor: colours.band,
      line: { color: colours.grid, width: 1 },
      showlegend: panel === 0,
      ...axes,
    });
    for (const component of components) {
      traces.push({
        ...traceOf.marks,
        name: component.name,
        x: used.map((residual) => rounded(at(residual))),
        y: used.map((residual) => rounded(residual[component.key])),
        marker: outlined(component.symbol, 10, component.colour, 2),
        hovertext: used.map((residual) => sightingHover(residual, fit)),
        showlegend: panel === 0,
        ...axes,
      });
    }
    const others = fit.residuals.filter((residual) => residual.standing !== "used");
    if (others.length > 0) {
      traces.push({
        ...traceOf.marks,
        mode: "markers+text",
        name: "excluded from the fit, at the edge",
        x: others.map((residual) => rounded(at(residual))),
        y: others.map((residual) => rounded(edge(residual, reach))),
        text: others.map((residual) => `row ${residual.row}`),
        textposition: others.map((residual) => (edge(residual, reach) > 0 ? "bottom center" : "top center")),
        textfont: { size: theme.fontSizePx - 1, color: colours.text },
        marker: { symbol: "x", size: 12, color: colours.aside },
        hovertext: others.map((residual) => sightingHover(residual, fit)),
        showlegend: panel === 0,
        ...axes,
      });
    }
  });
  const vertical = { range: [-rounded(reach), rounded(reach)], dtick: niceAbove(reach / 4) };
  const layout = chartLayout(
    theme,
    `Residuals of ${fit.mount.name} by hour angle and declination`,
    HEIGHT_PX,
    -0.12,
    {
      xaxis: axis(theme, "hour angle, hours (east −, west +)", {
        range: [...panels[0]!.range].map(rounded),
        dtick: 2,
        zeroline: false,
        anchor: "y",
      }),
      yaxis: axis(theme, "telescope minus star, ′", { ...vertical, domain: [0.58, 1], anchor: "x" }),
      xaxis2: axis(theme, "declination, degrees", {
        range: [...declinationRange],
        dtick: 30,
        zeroline: false,
        anchor: "y2",
      }),
      yaxis2: axis(theme, "telescope minus star, ′", { ...vertical, domain: [0, 0.42], anchor: "x2" }),
    },
  );
  const worst = [...used].sort((a, b) => b.distance - a.distance)[0];
  const worstText =
    worst === undefined
      ? ""
      : ` The largest in use is row ${worst.row}, ${worst.star}: west ${signed(worst.west, 1)}′, north ${signed(worst.north, 1)}′.`;
  const summary = `Telescope minus star, westward and northward; they fit to ${arcminText(fit.skyRms.found)} where ${arcminText(fit.skyRms.expected)} is expected. A slope or a wave means that a term is missing.${worstText}${said}`;
  return { data: traces, layout, summary };
}

/** The larger component of a star set aside, brought inside the picture. */
function edge(residual: Residual, reach: number): number {
  const value = Math.abs(residual.west) > Math.abs(residual.north) ? residual.west : residual.north;
  return Math.max(-0.93 * reach, Math.min(0.93 * reach, value));
}

function rootMeanSquare(values: readonly number[]): number {
  return values.length === 0
    ? 0
    : Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
}
