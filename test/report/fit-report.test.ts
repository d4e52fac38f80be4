import { expect, test } from "vitest";
import type { MountFit } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { fitReport, isBeyondDoubt, noteText } from "../../src/report/fit-report.js";
import type { TableBlock } from "../../src/report/report.js";
import { reportText } from "../../src/report/text.js";
import { nowhereFit, nowhereMount, usualTruth } from "../support/fit-fixture.js";

function sentencesOf(fit: MountFit): string {
  return fitReport(fit)
    .blocks.flatMap((block) => (block.kind === "sentence" ? [block.text] : []))
    .join("\n");
}

function withPole(altitude: number, east: number, latitude = -30): MountFit {
  const fit = nowhereFit();
  return {
    ...fit,
    mount: { ...nowhereMount, site: { ...nowhereMount.site, latitude } },
    pole: {
      altitude: { value: altitude, uncertainty: 0.46 },
      east: { value: east, uncertainty: 0.3 },
      azimuth: { value: east / Math.cos((latitude * Math.PI) / 180), uncertainty: 0.4 },
      distance: { value: Math.hypot(altitude, east), uncertainty: 0.4 },
      covariance: 0.02,
    },
  };
}

test("the verdict comes first and says where the upper end points, by how much, and how sure it is", () => {
  const first = fitReport(withPole(14.18, -19.2)).blocks[0];
  expect(first).toMatchObject({ kind: "sentence", tone: "verdict" });
  expect(first?.kind === "sentence" ? first.text : "").toBe(
    "The upper (south) end of the polar axis points 14.2′ ± 0.5′ too high and 19.2′ ± 0.3′ too far west, 23.9′ ± 0.4′ from the pole. 23 of 24 sightings used, 1 excluded from the fit. They fit to 1.1′ on the sky (expected 1.1′).",
  );
});

test.each([
  [3, 2, 52, "upper (north)", "3.0′ ± 0.5′ too high", "2.0′ ± 0.3′ too far east"],
  [-3, -2, 52, "upper (north)", "3.0′ ± 0.5′ too low", "2.0′ ± 0.3′ too far west"],
  [-3, 2, -29, "upper (south)", "3.0′ ± 0.5′ too low", "2.0′ ± 0.3′ too far east"],
])("altitude %f, east %f at latitude %f", (altitude, east, latitude, end, high, side) => {
  const text = sentencesOf(withPole(altitude, east, latitude));
  for (const part of [end, high, side]) {
    expect(text).toContain(part);
  }
});

test("an axis error inside its own ellipse is said to be none that can be told", () => {
  const fit = withPole(0.3, -0.2);
  expect(isBeyondDoubt(fit)).toBe(false);
  expect(sentencesOf(fit)).toContain("the axis could equally point right");
  expect(isBeyondDoubt(withPole(14, 0))).toBe(true);
});

test("readings that cannot be trusted are said so before any figure", () => {
  const fit = { ...nowhereFit(), sound: false };
  const [first] = fitReport(fit).blocks;
  expect(first).toMatchObject({ kind: "sentence", tone: "caution" });
  expect(first?.kind === "sentence" ? first.text : "").toMatch(/^Turn nothing yet/);
  expect(fitReport(fit).blocks.some((block) => block.kind === "sentence" && block.tone === "verdict")).toBe(
    false,
  );
});

test("without sightings it says so and what to do", () => {
  const fit = nowhereFit();
  const none: MountFit = {
    ...fit,
    sightings: { read: 0, used: 0, setAside: 0 },
    terms: [],
    residuals: [],
    notes: [],
    stop: { reason: "no-sightings", iterations: 0 },
  };
  expect(reportText(fitReport(none))).toContain("There are no sightings yet");
});

test("where no sighting counts, no figure is given for what is not known", () => {
  const fit = fitMount({ mount: nowhereMount, sightings: [] });
  const text = reportText(fitReport(fit), { width: 2000 });
  expect(text).toContain("nothing is known");
  expect(text).not.toMatch(/In azimuth|χ²|180° 0′|206°|reads west|too far east/);
  expect(text).not.toContain("The terms");
});

test("azimuth and the east error are distinguished the right way round", () => {
  const { pole } = withPole(3, -2, 60);
  expect(pole.azimuth.value * Math.cos(Math.PI / 3)).toBeCloseTo(pole.east.value);
  expect(sentencesOf(withPole(3, -2, 60))).toContain(
    "In azimuth the axis is 4.0′ ± 0.4′ too far west (turned about the vertical; times the cosine of the latitude that is the east error on the sky).",
  );
});

test("a solver that did not settle is confessed", () => {
  const fit: MountFit = { ...nowhereFit(), stop: { reason: "iteration-limit", iterations: 50 } };
  expect(sentencesOf(fit)).toContain("Take these figures with care");
});

test("notes name their rows and what to do", () => {
  expect(
    noteText({
      code: "outlier",
      row: 4,
      message: "fits no star by 40′",
      remedy: "look at the note of that row",
    }),
  ).toBe("Row 4: Fits no star by 40′. What to do: Look at the note of that row.");
  expect(noteText({ code: "misnamed-star", row: 7, message: "row 7 says Alcor", remedy: "" })).toBe(
    "Row 7 says Alcor.",
  );
  expect(
    noteText({ code: "zeros-moved", row: 12, rows: [13, 12], message: "the zeros jumped", remedy: "x" }),
  ).toMatch(/^Rows 12, 13: /);
});

test("the table of terms holds every term with value, uncertainty, tolerance and standing", () => {
  const fit = nowhereFit();
  const table = fitReport(fit).blocks.find(
    (block): block is TableBlock => block.kind === "table" && block.head.includes("Tolerance"),
  );
  expect(table?.rows).toHaveLength(fit.terms.length);
  const cone = table?.rows.find((row) => row[0]?.includes("cone"));
  expect(cone?.[2]).toBe(usualTruth.cone > 0 ? "tube leans east" : "tube leans west");
  expect(cone?.[3]).toBe("± 20.0′");
  expect(cone?.[4]).toBe("measured");
});

test("several sets of zeros get a column of their own", () => {
  const table = fitReport(nowhereFit({ zerosMoveAtRow: 13 })).blocks.find(
    (block): block is TableBlock => block.kind === "table" && block.head.includes("Tolerance"),
  );
  expect(table?.head[1]).toBe("Set");
  expect(table?.rows.filter((row) => row[0] === "hour-angle zero").map((row) => row[1])).toEqual([
    "first",
    "second",
  ]);
});

test("every sighting is listed, those set aside with the star that they fit", () => {
  const fit = nowhereFit();
  const table = fitReport(fit).blocks.find(
    (block): block is TableBlock => block.kind === "table" && block.head.includes("Star"),
  );
  expect(table?.rows).toHaveLength(fit.residuals.length);
  expect(table?.rows[6]?.[5]).toBe("set aside; fits Zaurak");
});
