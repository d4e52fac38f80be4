import { expect, it } from "vitest";
import { DEGREE } from "../../src/angles.js";
import { daysSinceJ2000, earthState } from "../../src/sky/earth.js";
import { horizonFromHourAngle } from "../../src/sky/horizon-frame.js";
import { liftedDirection } from "../../src/sky/observe.js";
import { refractionConstants } from "../../src/sky/refraction.js";
import { frameFromEarth, siteConstants } from "../../src/sky/sky-frame.js";
import { parseTime } from "../../src/sky/time.js";
import { cross, dot } from "../../src/vectors.js";
import { nowhereSchool } from "./support.js";

it("carries the observer round as ERFA's pvtob does (ERFA test suite, from memory)", () => {
  // pvtob(2, 0.5, 3000 m, …): −268.49 and 308.10 m/s; its pole stands 1e-6 off, which is left out here.
  const { spin } = siteConstants({ ...nowhereSchool, latitude: 0.5 / DEGREE, heightM: 3000 });
  const metresSecond = Math.hypot(-268.4915389365999, 308.0977983288903);
  expect(Math.abs((spin * 299_792_458) / metresSecond - 1)).toBeLessThan(2e-6);
});

it("makes its rows perpendicular and of length one, whatever interpolation left of them (exact identity)", () => {
  const time = parseTime("2026-03-14T19:22:10Z");
  const state = earthState(daysSinceJ2000(time));
  // Much more than interpolation leaves: two per cent of length, a per cent of lean.
  for (const place of [0, 1, 2]) {
    state[6 + place]! *= 1.02;
    state[place]! = 0.97 * state[place]! + 0.01 * state[6 + place]!;
    state[3 + place]! = 0.98 * state[3 + place]! - 0.012 * state[6 + place]!;
  }
  const { meridian, east, pole } = frameFromEarth(time, siteConstants(nowhereSchool), state);
  for (const row of [meridian, east, pole]) expect(dot(row, row)).toBeCloseTo(1, 14);
  expect(dot(meridian, pole)).toBeCloseTo(0, 14);
  cross(pole, meridian).forEach((value, k) => {
    expect(east[k]).toBeCloseTo(value, 14);
  });
  // The pole keeps its direction.
  const length = Math.hypot(state[6]!, state[7]!, state[8]!);
  pole.forEach((value, k) => {
    expect(value).toBeCloseTo(state[6 + k]! / length, 14);
  });
});

it("lifts what stands in the very zenith and on the very horizon", () => {
  const air = refractionConstants({ pressureHPa: 1010, temperatureC: 10 });
  const zenith = liftedDirection(1, 0, 0, { sinLatitude: 0, cosLatitude: 1 }, air);
  expect(zenith.altitude).toBeCloseTo(Math.PI / 2, 15);
  expect(Math.hypot(zenith.hourAngle, zenith.declination)).toBe(0);
  // Due east on the horizon: the direction of hour angle and declination must be that of azimuth and altitude.
  const latitude = 0.6;
  const vertical = { sinLatitude: Math.sin(latitude), cosLatitude: Math.cos(latitude) };
  const rising = liftedDirection(0, 1, 0, vertical, air);
  const horizon = horizonFromHourAngle(rising.hourAngle, rising.declination, latitude);
  expect(rising.altitude / DEGREE).toBeGreaterThan(0.4);
  expect(horizon.altitude).toBeCloseTo(rising.altitude, 15);
  expect(horizon.azimuth).toBeCloseTo(Math.PI / 2, 15);
});
