// From single nights to rates, coverages and goals.
import { alarmCodes } from "./experiments.mjs";

/** A share with its 95 % interval (Wilson 1927). */
export function share(hits, of) {
  if (of === 0) return { value: Number.NaN, low: 0, high: 1, hits, of };
  const z = 1.96;
  const p = hits / of;
  const centre = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of))) / (1 + (z * z) / of);
  return { value: p, low: centre - half, high: centre + half, hits, of };
}

export function quantile(values, fraction) {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length === 0
    ? Number.NaN
    : sorted[Math.min(sorted.length - 1, Math.floor(fraction * sorted.length))];
}

const count = (list, test) => list.filter(test).length;
const percent = (rate) =>
  `${(100 * rate.value).toFixed(2)} % (${rate.hits} of ${rate.of}; ${(100 * rate.low).toFixed(1)} to ${(100 * rate.high).toFixed(1)})`;

/** Coverage of the 95 % intervals of each term. */
export function coverage(records) {
  const names = [...new Set(records.flatMap((record) => Object.keys(record.terms ?? {})))];
  return names.map((name) => {
    const values = records
      .filter((record) => record.terms?.[name] !== undefined)
      .map((record) => record.terms[name]);
    const rms = Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);
    return {
      name,
      ...share(
        count(values, (value) => Math.abs(value) <= 1.96),
        values.length,
      ),
      rms,
    };
  });
}

const groups = [
  ["6 to 10 sightings", (r) => r.sightings <= 10],
  ["11 to 20", (r) => r.sightings > 10 && r.sightings <= 20],
  ["21 to 60", (r) => r.sightings > 20],
];

const bySightings = (records, test) =>
  groups.map(([name, within]) => {
    const some = records.filter(within);
    return { name, ...share(count(some, test), some.length) };
  });

/**
 * Everything that the report shows.
 *
 * @param {Record<string, object[]>} byExperiment records of each experiment
 */
export function summarise(byExperiment) {
  const of = (name) => byExperiment[name] ?? [];
  const rate = (records, test) => share(count(records, test), records.length);
  const goals = [];
  const goal = (what, found, test, wanted) => {
    if (found.of > 0) goals.push({ what, found, wanted, met: test(found) });
  };
  const clean = of("clean");
  const covers = coverage(clean);
  for (const term of covers) {
    goal(
      `95 % intervals of ${term.name} cover the truth`,
      term,
      (f) => f.high >= 0.94 && f.low <= 0.96,
      "94 to 96 %",
    );
  }
  for (const name of ["clean", "clean, modest zeros", "equatorial strip"]) {
    goal(
      `${name}: nights with any alarm`,
      rate(of(name), (r) => !r.ok),
      (f) => f.value < 0.01,
      "below 1 %",
    );
  }
  const everyClean = [...clean, ...of("clean, modest zeros")];
  goal(
    "clean nights called reversed or of wrong steps",
    rate(everyClean, (r) => r.alarms?.some((code) => code.startsWith("sense-reversed"))),
    (f) => f.hits === 0,
    "none",
  );
  for (const name of ["one misnamed star", "two misnamed stars"]) {
    goal(
      `${name}: found`,
      rate(of(name), (r) => r.ok),
      (f) => f.value >= 0.99,
      "99 % or more",
    );
    goal(
      `${name}: renamed rightly`,
      rate(of(name), (r) => r.renamed),
      (f) => f.value >= 0.97,
      "97 % or more",
    );
  }
  goal(
    "outlier: found",
    rate(of("outlier"), (r) => r.ok),
    (f) => f.value >= 0.99,
    "99 % or more",
  );
  goal(
    "zeros moved: found",
    rate(of("zeros moved"), (r) => r.ok),
    (f) => f.value >= 0.99,
    "99 % or more",
  );
  goal(
    "zeros moved: at the right row",
    rate(of("zeros moved"), (r) => r.placed),
    (f) => f.value >= 0.9,
    "90 % or more",
  );
  for (const name of ["sense reversed", "wrong steps a turn"]) {
    goal(
      `${name}: found`,
      rate(of(name), (r) => r.ok),
      (f) => f.hits === f.of,
      "all",
    );
  }
  for (const name of ["clock in another zone", "longitude's sign"]) {
    goal(
      `${name}: found`,
      rate(of(name), (r) => r.ok),
      (f) => f.value >= 0.99,
      "99 % or more",
    );
  }
  // The limits of χ² leave 76 to 66 %, 96 to 92 % and all of them, for terms of one part and of two.
  for (const [sigmas, least] of [
    [4, 0.6],
    [5, 0.9],
    [8, 0.99],
  ]) {
    goal(
      `empirical term of ${sigmas} sigma: found`,
      rate(of(`empirical term of ${sigmas} sigma`), (r) => r.ok),
      (f) => f.value >= least,
      `${100 * least} % or more`,
    );
    const called = of(`empirical term of ${sigmas} sigma`).filter((r) => r.ok);
    goal(
      `empirical term of ${sigmas} sigma, where found: taken in, or told as hardly to be told from it`,
      rate(called, (r) => r.named),
      (f) => f.value >= 0.85,
      "85 % or more",
    );
  }
  for (const name of Object.keys(byExperiment)) {
    const crashed = rate(of(name), (r) => r.crashed !== undefined);
    if (crashed.hits > 0) goal(`${name}: crashed`, crashed, () => false, "none");
  }
  const rounds = of("two rounds of turns").filter((record) => record.left);
  const left = [0, 1, 2].map((round) => {
    const values = rounds.map((record) => record.left[round]);
    return { round, median: quantile(values, 0.5), p95: quantile(values, 0.95), worst: quantile(values, 1) };
  });
  return {
    goals,
    coverage: covers,
    coverageBySightings: groups.map(([name, within]) => ({ name, terms: coverage(clean.filter(within)) })),
    alarmsOnCleanNights: alarmCodes.map((code) => ({
      code,
      ...rate(clean, (r) => r.alarms?.some((alarm) => alarm.split("@")[0] === code)),
    })),
    found: Object.keys(byExperiment)
      .filter((name) => name !== "two rounds of turns")
      .map((name) => ({
        name,
        ...rate(of(name), (r) => r.ok),
        bySightings: bySightings(of(name), (r) => r.ok),
        extra: rate(of(name), (r) => r.extra === true),
      })),
    polarErrorLeft: left,
    /** The seeds of what failed, to look at with --one. */
    failures: Object.fromEntries(
      Object.entries(byExperiment).map(([name, records]) => [
        name,
        records
          .filter((r) => !r.ok || r.renamed === false || r.placedNear === false || r.stopped === false)
          .slice(0, 40)
          .map(({ terms: _terms, ...rest }) => rest),
      ]),
    ),
  };
}

/** The report as markdown. */
export function markdown(summary, head) {
  const table = (columns, rows) => [
    `| ${columns.join(" | ")} |`,
    `|${columns.map(() => "---").join("|")}|`,
    ...rows.map((row) => `| ${row.join(" | ")} |`),
  ];
  const lines = [
    "# How well the fit does on simulated nights",
    "",
    head,
    "",
    "## Goals",
    "",
    ...table(
      ["what", "found", "goal", "met"],
      summary.goals.map((g) => [g.what, percent(g.found), g.wanted, g.met ? "yes" : "**no**"]),
    ),
    "",
    "## Coverage of the 95 % intervals, clean nights",
    "",
    ...table(
      [
        "term",
        "all",
        ...summary.coverageBySightings.map((group) => group.name),
        "rms of error / uncertainty",
      ],
      summary.coverage.map((term) => [
        term.name,
        percent(term),
        ...summary.coverageBySightings.map((group) => {
          const same = group.terms.find((other) => other.name === term.name);
          return same ? `${(100 * same.value).toFixed(1)} %` : "";
        }),
        term.rms.toFixed(3),
      ]),
    ),
    "",
    "## Alarms on clean nights",
    "",
    ...table(
      ["code", "nights"],
      summary.alarmsOnCleanNights.map((alarm) => [alarm.code, percent(alarm)]),
    ),
    "",
    "## Found as it should be",
    "",
    ...table(
      ["nights", "as it should be", ...groups.map(([name]) => name), "with another alarm besides"],
      summary.found.map((row) => [
        row.name,
        percent(row),
        ...row.bySightings.map((group) => (group.of === 0 ? "" : `${(100 * group.value).toFixed(1)} %`)),
        percent(row.extra),
      ]),
    ),
    "",
    "## Polar error left, arcminutes",
    "",
    ...table(
      ["rounds of turns", "median", "95 % below", "worst"],
      summary.polarErrorLeft.map((row) => [
        row.round,
        row.median.toFixed(2),
        row.p95.toFixed(2),
        row.worst.toFixed(2),
      ]),
    ),
    "",
  ];
  return lines.join("\n");
}
