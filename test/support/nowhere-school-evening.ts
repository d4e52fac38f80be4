import { parseMount } from "../../src/mount/mount-file.js";

/** The invented Nowhere School mount, as the design's example has it. */
export const nowhereSchool = parseMount({
  name: "Nowhere School 40 cm",
  site: { latitude: -30, longitude: 20, heightM: 1000, pressureHPa: 900, temperatureC: 12 },
  kind: "split-ring",
  readings: {
    hourAngle: { as: "counts", perTurn: 16384, sense: 1 },
    declination: { as: "counts", perTurn: 16384, sense: -1 },
  },
  centringArcmin: 0.7,
  limits: {
    altitudeDeg: 15,
    hourAngleHours: [-6, 6],
    declinationDeg: [-90, 60],
    horizon: [
      [0, 20],
      [90, 12],
    ],
  },
  base: {
    jacks: [
      { name: "north-east", eastMm: 600, northMm: 800 },
      { name: "north-west", eastMm: -600, northMm: 800 },
      { name: "south-west", eastMm: -600, northMm: -800 },
      { name: "south-east", eastMm: 600, northMm: -800 },
    ],
    pitchMm: 2,
    clockwise: "raises",
    smallestTurn: 0.125,
    raiseLeftMm: 30,
    lowerLeftMm: 10,
    warpLimitMm: 0.3,
    azimuthBolts: { end: "south", leverMm: 1500, pitchMm: 1.5, smallestTurn: 0.125 },
  },
  camera: { focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 },
});
