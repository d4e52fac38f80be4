/**
 * A real adjustment of 1878: J. N. Lockyer, Stargazing: Past and Present (Macmillan 1878), chapter XXI. Capella on the
 * meridian, the declination circle read with the telescope on either side of the pier; refraction 7″; true declination
 * 45°52′00″. His result: the pole 26′52″ too low, index error 1°34′45″.
 */
import { expect, it } from "vitest";
import { ARCMINUTE, ARCSECOND, DEGREE } from "../../src/angles.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { readNight } from "../../src/night/night-file.js";
import { parseTime } from "../../src/sky/time.js";
import { icrsFromObserved } from "../support/sky.js";

const TOLERANCE_ARCMIN = 0.01; // half of Lockyer's last digit, one second of arc

it("gives Lockyer's pole and index error from his two readings of Capella", () => {
  // London; the circle is a dial in degrees, the hour circle does not matter on the meridian.
  const mount = parseMount({
    name: "An equatorial of 1878",
    site: { latitude: 51.5, longitude: 0, heightM: 20, pressureHPa: 1010, temperatureC: 10 },
    kind: "german",
    readings: {
      hourAngle: { as: "hours", sense: 1, smallest: 0.001 },
      declination: { as: "degrees", sense: 1, smallest: 0.001 },
    },
  });
  const declination = 45 * DEGREE + 52 * ARCMINUTE + 7 * ARCSECOND;
  const time = "1999-11-20T00:00:00Z";
  const place = icrsFromObserved({ hourAngle: 0, declination }, parseTime(time), mount.site);
  const { night } = readNight(
    [
      "time,raDeg,decDeg,hourAngle,declination,side",
      `${time},${place.raDeg},${place.decDeg},0,47:00:00,normal`,
      `${time},${place.raDeg},${place.decDeg},12,43:50:30,beyond`,
      "",
    ].join("\n"),
    mount,
  );
  const fit = fitMount(night, {
    terms: ["declinationZero", "polarAltitude", "hourAngleZero"],
    catches: false,
  });
  const value = (name: string): number => fit.terms.find((term) => term.name === name)!.value;
  expect(Math.abs(value("polarAltitude") - -(26 + 52 / 60))).toBeLessThan(TOLERANCE_ARCMIN);
  expect(Math.abs(value("declinationZero") - (60 + 34 + 45 / 60))).toBeLessThan(TOLERANCE_ARCMIN);
});
