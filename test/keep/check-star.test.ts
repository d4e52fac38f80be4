/** One star held against a model: the same judgement as the one that takes the star into the model. */
import { expect, it } from "vitest";
import { checkStar } from "../../src/keep/check-star.js";
import { standingTonight } from "../../src/keep/tonight.js";
import { readNight } from "../../src/night/night-file.js";
import { nowhereFit, nowhereMount } from "../support/fit-fixture.js";

const NIGHT = `time,star,hourAngle,declination
2026-03-14T19:30:00Z,Canopus,1322,2464
2026-03-14T19:40:00Z,Sirius,-20,836
`;
const fit = nowhereFit();
const { night } = readNight(NIGHT, nowhereMount);

it("agrees with the judgement of tonight's standing, which is reckoned another way", () => {
  const [first, second] = night.sightings;
  // Standing tonight after one star, and how it judges the second before taking it in.
  const one = standingTonight(fit, { mount: nowhereMount, sightings: [first!] });
  const two = standingTonight(fit, { mount: nowhereMount, sightings: [first!, second!] });
  const check = checkStar(one, second!)!;
  expect(check.ratio).toBeCloseTo(two.agreements[1]!.ratio, 6);
  expect(check.west).toBeCloseTo(two.agreements[1]!.west, 6);
  expect(check.north).toBeCloseTo(two.agreements[1]!.north, 6);
  expect(check.agrees).toBe(two.agreements[1]!.agrees);
});

it("the star that set the zeros agrees with them", () => {
  const [first] = night.sightings;
  const one = standingTonight(fit, { mount: nowhereMount, sightings: [first!] });
  expect(checkStar(one, first!)!.ratio).toBeLessThan(0.1);
});

it("answers nothing where a reading is missing", () => {
  expect(checkStar(fit, { ...night.sightings[0]!, declination: null })).toBeNull();
});
