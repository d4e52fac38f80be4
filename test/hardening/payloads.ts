/** Text that would do harm where it is not escaped, and every page that such text can reach. */
import { jackTurns } from "../../src/base/jack-turns.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { compareModels } from "../../src/keep/compare.js";
import { keepModel, keptStanding } from "../../src/keep/keep.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import type { Night } from "../../src/night/night.js";
import { readNight } from "../../src/night/night-file.js";
import { sightingLine } from "../../src/night/sighting-fields.js";
import { type MimeBundle, setDisplay, show } from "../../src/notebook/display.js";
import { htmlPage } from "../../src/notebook/page.js";
import { chooseTheme } from "../../src/notebook/theme.js";
import * as plots from "../../src/plots/plots.js";
import { compareReport } from "../../src/report/compare-report.js";
import { explain } from "../../src/report/explain.js";
import { fitReport } from "../../src/report/fit-report.js";
import type { Report } from "../../src/report/report.js";
import { turnsReport } from "../../src/report/turns-report.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { parseTime } from "../../src/sky/time.js";
import { lightTheme, nightTheme, type Theme } from "../../src/words/theme.js";

/** A page that one of these gets into sets `window.harmed`, opens a dialog or asks for an address. */
export const payloads: readonly string[] = [
  "<script>window.harmed=1</script>",
  "</script><script>window.harmed=1</script>",
  "</SCRIPT ><script>window.harmed=1</script>",
  "<!--<script>window.harmed=1",
  "--><script>window.harmed=1</script>",
  "<img src=x onerror=window.harmed=1>",
  '"><img src=x onerror=window.harmed=1>',
  "'><img src=x onerror=window.harmed=1>",
  '" onmouseover="window.harmed=1" x="',
  "<svg onload=window.harmed=1>",
  "<svg><script>window.harmed=1</script></svg>",
  "</svg><script>window.harmed=1</script>",
  "]]><script>window.harmed=1</script>",
  "</style><script>window.harmed=1</script>",
  "</title><script>window.harmed=1</script>",
  "</textarea><script>window.harmed=1</script>",
  '<a href="javascript:window.harmed=1">press</a>',
  "<a href='https://harm.example/'>press</a>",
  "<iframe src=https://harm.example/></iframe>",
  "<iframe srcdoc='<script>parent.harmed=1</script>'>",
  "<object data=https://harm.example/>",
  "<base href=https://harm.example/>",
  "<link rel=stylesheet href=https://harm.example/>",
  "<meta http-equiv=refresh content=0;url=https://harm.example/>",
  "<style>@import 'https://harm.example/';</style>",
  "<details open ontoggle=window.harmed=1>",
  "<video src=x onerror=window.harmed=1>",
  "&lt;img src=x onerror=window.harmed=1&gt;",
  "&#60;img src=x onerror=window.harmed=1&#62;",
  "\\u003cimg src=x onerror=window.harmed=1\\u003e",
  `${"$"}{window.harmed=1}`,
  "`;window.harmed=1;`",
  '";window.harmed=1;"',
  "');window.harmed=1;('",
  "\u2028window.harmed=1\u2029",
  "{{window.harmed=1}}",
  "$\\href{javascript:window.harmed=1}{x}$",
  "\u202egnihtyna\u2066",
  "\u001b[2J\u001b[31mred\u0007\u009b",
  "half a pair \ud800",
  "__proto__",
  "constructor",
];

/** A night whose every name, label and note is this text. */
export function harmfulNight(text: string): Night {
  const name = text.slice(0, 60);
  const { base } = firstMount;
  const mount = parseMount({
    ...firstMount,
    name: text,
    base: { ...base, jacks: base.jacks.map((jack, n) => ({ ...jack, name: `${n}${text}`.slice(0, 60) })) },
    customTerms: [{ name: "customHarm", label: text, hourAngle: "sin(hourAngle)", tolerance: 3 }],
  });
  const { sightings } = simulateNight({
    seed: 3,
    mount,
    targets: 16,
    fromMs: parseTime("2026-03-14T18:00Z"),
    toMs: parseTime("2026-03-14T22:00Z"),
    terms: { polarAltitude: 14, polarEast: -19, cone: 8, hourAngleZero: 150 },
    faults: [
      { kind: "outlier", row: 5, west: 60, north: 40 },
      { kind: "misnamed", row: 9, instead: "neighbour" },
    ],
  });
  const columns = ["time", "star", "hourAngle", "declination", "zeroSet", "tubeSet", "note"] as const;
  const lines = sightings.map((one, n) =>
    sightingLine(
      {
        time: one.time,
        star: one.catalogueStar === null ? one.star : `HIP ${one.catalogueStar.hip}`,
        hourAngle: one.hourAngle,
        declination: one.declination,
        zeroSet: n < 10 ? `a${name}`.slice(0, 60) : name,
        tubeSet: n < 13 ? "" : name,
        note: text,
      },
      columns,
    ),
  );
  return readNight(`${[columns.join(","), ...lines].join("\n")}\n`, mount, "night.csv").night;
}

/** Every report that the text can reach. */
export function harmfulReports(night: Night, text: string): readonly Report[] {
  const fit = fitMount(night);
  const again = fitMount(night, { catches: false });
  const kept = keptStanding(keepModel({ ...again, sound: true }, text), night.mount);
  return [
    fitReport(fit),
    turnsReport(jackTurns({ ...fit, sound: true }), fit),
    explain("cone", fit),
    compareReport(compareModels(kept, fit), { older: text, newer: text }),
  ];
}

/** Pages and outputs of a notebook with this text wherever it can get. */
export function harmfulPages(text: string, theme: Theme["name"], live: boolean): readonly string[] {
  const night = harmfulNight(text);
  const fit = fitMount(night);
  const advice = jackTurns({ ...fit, sound: true });
  const chosen = theme === "night" ? nightTheme : lightTheme;
  const figures = [
    plots.residualSky(fit, chosen),
    plots.residualAngles(fit, chosen),
    plots.axisPointing(fit, advice),
    plots.termCorrelation(fit, chosen),
    plots.baseFromAbove(fit.mount, advice),
    plots.zeroJump(fit, chosen),
    plots.skyCoverage(fit, [{ label: text, azimuthDeg: 30, altitudeDeg: 50, reason: text }], chosen),
    plots.roundsConverging([{ pole: fit.pole, label: text }]),
  ];
  const reports = harmfulReports(night, text);
  const page = htmlPage({ title: text, reports, figures, theme: chosen, live });
  const shown: string[] = [];
  setDisplay((bundle: MimeBundle) => {
    shown.push(bundle["text/html"] ?? "");
  });
  chooseTheme(theme);
  try {
    show(fit, advice, figures[0], reports, [{ name: text, [text]: text }], text);
  } finally {
    setDisplay(null);
    chooseTheme(null);
  }
  return [page, `<!doctype html><meta charset="utf-8">${shown.join("\n")}`];
}
