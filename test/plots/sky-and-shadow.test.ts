/** The pictures of what is found, and of the plumb line's shadow. */
import { expect, test } from "vitest";
import { shadowByHour, targetsSky } from "../../src/plots/plots.js";

const mount = { name: "Nowhere School", latitudeDeg: -30, limits: null };
const at = (name: string, altitudeDeg: number, reached = true) => ({
  name,
  altitudeDeg,
  azimuthDeg: 90,
  says: "",
  reached,
});

test("an object stands where it is, by its short name; one outside the limits has another mark", () => {
  const { data, summary } = targetsSky(
    [at("M 42 (Orion Nebula)", 45), at("M 1", 5, false), at("M 31", -10)],
    mount,
  );
  const within = data.find(({ name }) => name === "within reach")!;
  // Half way between the zenith and the horizon, due east: right of the middle by half the radius.
  expect([within.x, within.y]).toEqual([[0.5], [0]]);
  expect(within.text).toEqual(["M 42"]);
  const outside = data.find(({ name }) => name === "outside the limits")!;
  expect(outside.x).toHaveLength(1);
  expect((outside.marker as { symbol: string }).symbol).not.toBe(
    (within.marker as { symbol: string }).symbol,
  );
  expect(summary).toContain("2 objects above the horizon, 1 below it");
});

test("many objects are not named one over the other", () => {
  const many = Array.from({ length: 40 }, (_, index) => at(`M ${index}`, 20 + index));
  const { data, summary } = targetsSky(many, mount);
  expect(data.find(({ name }) => name === "within reach")!.text).toEqual(many.map(() => ""));
  expect(summary).toContain("too many to name");
});

test("the tip of the shadow falls where the shadow points, and the long ones at sunrise are left out", () => {
  const moment = (time: string, shadowAzimuthDeg: number, shadowLengthMm: number) => ({
    time,
    timeMs: 0,
    shadowAzimuthDeg,
    sunAzimuthDeg: (shadowAzimuthDeg + 180) % 360,
    sunAltitudeDeg: 40,
    shadowLengthMm,
    turnsDegAMinute: 0.2,
    accuracyDeg: 0.1,
  });
  const { data } = shadowByHour(
    [moment("05:15", 270, 16000), moment("09:00", 270, 1000), moment("12:00", 180, 600)],
    (time) => time,
  );
  const tip = data.find(({ name }) => name === "tip of the shadow")!;
  expect([tip.x, tip.y]).toEqual([
    [-1000, 0],
    [0, -600],
  ]);
  expect(tip.text).toEqual(["09:00", "12:00"]);
});
