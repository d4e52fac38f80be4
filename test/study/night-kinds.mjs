// Kinds of night: how many sightings, over how long, where, how read. The worlds of world-table.mjs are drawn on them.

const shared = {
  latitude: [20, 60],
  lowestDeg: 20,
  hourAngles: [[-12, 12]],
  widestArcmin: 60,
  extras: false,
};
const coarse = {
  ...shared,
  sightings: [24, 24],
  hours: [3, 3],
  perTurn: [10_000, 10_000],
  centringArcmin: 0.7,
  choice: "sky",
  words: "24 stars in 3 hours, encoders of 10 000 steps, centred to 0.7′",
};
const any = {
  ...shared,
  latitude: [0, 65],
  lowestDeg: 15,
  hourAngles: [
    [-6, 6],
    [-12, 12],
  ],
  widestArcmin: 300,
  sightings: [6, 60],
  hours: [1.5, 5],
  perTurn: [8000, 1e7],
  centringArcmin: 0.7,
  choice: "sky",
};
const few = (from, to) => ({
  ...coarse,
  sightings: [from, to],
  hours: [0.5, 2],
  words: `${from === to ? from : `${from} to ${to}`} sighting${to === 1 ? "" : "s"} within 2 hours, encoders of 10 000 steps`,
});

/**
 * Numbers are ranges drawn from (sightings and steps as often half as twice as many). `extras`: eccentricities,
 * scales and play are there as often and as large as the priors say.
 */
export const kinds = {
  coarse,
  camera: {
    ...shared,
    sightings: [40, 60],
    hours: [3, 5],
    perTurn: [2 ** 23, 2 ** 23],
    centringArcmin: 0.08,
    choice: "pictures",
    words: "40 to 60 solved pictures in 3 to 5 hours, encoders of 2²³ steps, centred to 0.08′",
  },
  fine: {
    ...shared,
    sightings: [60, 60],
    hours: [4, 4],
    perTurn: [2 ** 23, 2 ** 23],
    centringArcmin: 0.08,
    choice: "sky",
    words: "60 stars in 4 hours, encoders of 2²³ steps, centred to 0.08′",
  },
  long: {
    ...shared,
    sightings: [2000, 2000],
    hours: [5, 8],
    perTurn: [10_000, 10_000],
    centringArcmin: 0.7,
    choice: "pictures",
    words: "2000 solved pictures in 5 to 8 hours, encoders of 10 000 steps, centred to 0.7′",
  },
  any: {
    ...any,
    extras: true,
    words:
      "6 to 60 stars in 1.5 to 5 hours, 8000 to 10 million steps, axis up to 5° off; eccentricities, scales and play as the priors say",
  },
  plain: { ...any, words: "6 to 60 stars in 1.5 to 5 hours, 8000 to 10 million steps, axis up to 5° off" },
  strip: {
    ...any,
    sightings: [6, 20],
    choice: "equator",
    words: "6 to 20 stars within 12° of the equator, 8000 to 10 million steps, axis up to 5° off",
  },
  one: few(1, 1),
  two: few(2, 2),
  three: few(3, 3),
  five: few(4, 5),
};
