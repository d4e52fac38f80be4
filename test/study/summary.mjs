// From single nights to a report: every world's rates beside their goals and the condition they hold under.
import { heldAgainst, quantile, together } from "./judge.mjs";
import { kinds } from "./night-kinds.mjs";
import { ROUNDS } from "./run-one.mjs";
import { worlds } from "./world-table.mjs";

const rounded = ({ value, low, high, of }) =>
  of === 0
    ? ""
    : `${(100 * value).toFixed(value > 0.98 || value < 0.02 ? 1 : 0)} (${Math.floor(100 * low)}–${Math.ceil(100 * high)})`;

/**
 * Everything that the report shows.
 *
 * @param {Record<string, object[]>} byExperiment records of each world, and of the rounds of turns
 */
export function summarise(byExperiment) {
  const found = worlds
    .filter(({ name }) => byExperiment[name] !== undefined)
    .map((world) => {
      const records = byExperiment[world.name];
      const judged = records.filter(({ crashed }) => crashed === undefined);
      const rates = together(judged);
      const missing = (one) =>
        !one.told || one.placed === false || one.renamed === false || one.wrong || one.unasked.length > 0;
      return {
        name: world.name,
        rates,
        goals: heldAgainst({ ...world.goals, ...(rates.changed.of > 0 ? { changed: 0.02 } : {}) }, rates),
        crashed: records.length - judged.length,
        /** Seeds to look at with worlds.mjs --one or study.mjs --one. */
        failing: judged
          .filter(missing)
          .map(({ seed }) => seed)
          .slice(0, 40),
      };
    });
  const rounds = (byExperiment[ROUNDS] ?? []).filter((record) => record.left);
  const left =
    rounds.length === 0
      ? []
      : [0, 1, 2].map((round) => {
          const values = rounds.map((record) => record.left[round]);
          return {
            round,
            median: quantile(values, 0.5),
            p95: quantile(values, 0.95),
            worst: quantile(values, 1),
          };
        });
  return { found, left };
}

const wording = {
  pole: "pole covered",
  terms: "terms covered",
  sigma: "σ of the pole, ′",
  worst: "worst deviation, σ",
  told: "told",
  placed: "at the right row",
  renamed: "star named rightly",
  stopped: "called unsound",
  withheld: "no turns advised",
  unasked: "other alarms",
  wrong: "sound and wrong",
  changed: "called changed",
};
const shown = (value) => (typeof value === "number" ? value.toFixed(2) : `${rounded(value)} %`);
const asked = ({ name, wanted, most }) =>
  `${most ? "at most" : "at least"} ${name === "sigma" || name === "worst" ? wanted : `${Number((100 * wanted).toFixed(1))} %`}`;

/** The report as markdown. */
export function markdown({ found, left }, head) {
  const table = (columns, rows) => [
    `| ${columns.join(" | ")} |`,
    `|${columns.map(() => "---").join("|")}|`,
    ...rows.map((row) => `| ${row.join(" | ")} |`),
    "",
  ];
  const sections = [...new Set(worlds.map(({ section }) => section))];
  const columns = [
    "world",
    "pole",
    "zeros",
    "geometry",
    "other terms",
    "σ pole, ′",
    "told",
    "other alarms",
    "called unsound",
    "no turns advised",
    "sound and wrong",
    "called changed",
    "nights",
  ];
  const worldOf = (name) => worlds.find((world) => world.name === name);
  const row = ({ name, rates }) => [
    `${name}: ${worldOf(name).what}`,
    rounded(rates.pole),
    rounded(rates.zeros),
    rounded(rates.geometry),
    rounded(rates.others),
    rates.sigma.toFixed(2),
    worldOf(name).told.length === 0 ? "" : rounded(rates.told),
    rounded(rates.unasked),
    rounded(rates.stopped),
    rounded(rates.withheld),
    rounded(rates.wrong),
    rounded(rates.changed),
    rates.nights,
  ];
  const missed = found.flatMap(({ name, goals, crashed }) => [
    ...goals
      .filter(({ met }) => met !== true)
      .map((goal) => [
        name,
        wording[goal.name],
        shown(goal.found),
        asked(goal),
        goal.met === null ? "by chance perhaps" : "**no**",
      ]),
    ...(crashed > 0 ? [[name, "crashed", crashed, "none", "**no**"]] : []),
  ]);
  const all = found.reduce((sum, { goals }) => sum + goals.length, 0);
  return [
    "# How well the fit does on simulated nights",
    "",
    head,
    "",
    "Shares are percentages with their 95 % interval (Wilson 1927). `pole`, `zeros`, `geometry` (cone, squareness, three sags) and `other terms` are the shares of 95 % intervals that cover the truth; zeros and pole as at the last sighting. σ of the pole: altitude and east together, median. Told: what the world holds was told by its note. Other alarms: nights with a note that nothing in the world explains. Sound and wrong: sound, and the pole more than 4 of its σ off. Called changed: by a comparison with a second night of the same mount, which had not changed.",
    "",
    ...sections.flatMap((section) => {
      const some = found.filter(({ name }) => worldOf(name).section === section);
      const used = [...new Set(some.map(({ name }) => worldOf(name).of))];
      return some.length === 0
        ? []
        : [
            `## ${section}`,
            "",
            ...used.flatMap((of) => [
              `${kinds[of].words}; latitude ${kinds[of].latitude.join("° to ")}° on either side, above ${kinds[of].lowestDeg}° of altitude:`,
              "",
              ...table(columns, some.filter(({ name }) => worldOf(name).of === of).map(row)),
            ]),
          ];
    }),
    "## Goals",
    "",
    `${all - missed.length} of ${all} are met.${missed.length > 0 ? " The others:" : ""}`,
    "",
    ...(missed.length > 0 ? table(["world", "what", "found", "asked for", "met"], missed) : []),
    ...(left.length > 0
      ? [
          "## Polar error left by rounds of turns, arcminutes",
          "",
          `24 stars a round, encoders of 8192 to 16 384 steps, axis up to 5° off; screws and floor follow by 0.85 to 1.1 of what is asked:`,
          "",
          ...table(
            ["rounds of turns", "median", "95 % below", "worst"],
            left.map(({ round, median, p95, worst }) => [
              round,
              median.toFixed(2),
              p95.toFixed(2),
              worst.toFixed(2),
            ]),
          ),
        ]
      : []),
  ].join("\n");
}
