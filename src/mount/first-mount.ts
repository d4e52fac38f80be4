/** The mount file that a new folder starts with: an invented school's, to be replaced figure by figure. */
export const firstMount = {
  name: "Nowhere School 40 cm (invented example)",
  note: "Nowhere School and every figure in this file are invented. Put your own site, encoders, jacks and camera in their place, then take this note out and set confirmed in base to true: until then no turns are given.",
  site: { latitude: -30, longitude: 20, heightM: 1000, pressureHPa: 900, temperatureC: 12 },
  kind: "split-ring",
  readings: {
    hourAngle: { as: "counts", perTurn: 16384, sense: 1 },
    declination: { as: "counts", perTurn: 16384, sense: -1 },
  },
  centringArcmin: 0.7,
  tolerances: { cone: 20, squareness: 15, tubeSag: 5, ringSag: 3, trunnionSag: 2 },
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
    // Turns are refused until the builder says that these figures are his own.
    confirmed: false,
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
} as const;
