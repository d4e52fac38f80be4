import { ARCMINUTE, DEGREE, wrapHalfTurn } from "../angles.js";
import { readingAngle, readingFromAngle } from "../mount/readings.js";
import type { Procedure, ProcedurePicture } from "./procedure.js";

/** Both zeros by a level: the tube level towards the equator's side, and a level across the trunnions. */
export const zerosByLevel: Procedure = {
  name: "level",
  title: "Both zeros by a level",
  steps: [
    "Lay a level across the trunnions (the declination axis). Turn the hour-angle axis until it is level: the hour angle is 0. Clamp it, write down the reading: hourAngle.",
    "Turn the level end for end and repeat; take the mean of both, so that the level's own error falls out.",
    "Lay the level along the tube and turn the tube level, pointing to the side of the equator: south in the north, north in the south. Write down the reading: declination.",
  ],
  write: {
    hourAngle: { meaning: "the hour-angle reading, trunnions level", usual: null, from: -1e10, to: 1e10 },
    declination: { meaning: "the declination reading, tube level", usual: null, from: -1e10, to: 1e10 },
    levelArcmin: { meaning: "how well the level measures, arcminutes (1σ)", usual: 3, from: 0.01, to: 600 },
  },
  cautions: [
    "Clamp both axes before you let go, and keep a hand on the tube.",
    "By day leave the cap on: a level tube may come near a low Sun.",
  ],
  work(written, mount) {
    const { latitude } = mount.site;
    const sign = latitude >= 0 ? 1 : -1;
    const declinationDeg = -(90 - Math.abs(latitude)) * sign;
    const { hourAngle, declination } = mount.readings;
    const uncertainty = written.levelArcmin![0]!;
    const isDisplay = hourAngle.as === "rightAscension";
    const hourZero = isDisplay
      ? 0
      : wrapHalfTurn(readingAngle(written.hourAngle![0]!, hourAngle)) / ARCMINUTE;
    const declinationZero =
      wrapHalfTurn(readingAngle(written.declination![0]!, declination) - declinationDeg * DEGREE) / ARCMINUTE;
    const atLevel = readingFromAngle(declinationDeg * DEGREE, declination);
    return {
      sentence:
        `With the tube level the declination is ${declinationDeg.toFixed(3)}°: the declination zero is ${declinationZero.toFixed(1)}′ ± ${uncertainty.toFixed(1)}′${isDisplay ? "" : `, the hour-angle zero ${hourZero.toFixed(1)}′ ± ${uncertainty.toFixed(1)}′`}.`.replace(
          /-(\d)/g,
          "−$1",
        ),
      found: [
        ...(isDisplay ? [] : [{ name: "hourAngleZero", unit: "arcminutes", value: hourZero, uncertainty }]),
        { name: "declinationZero", unit: "arcminutes", value: declinationZero, uncertainty },
      ],
      next: [
        `Or set the readings there: declination to ${atLevel.toFixed(declination.as === "counts" ? 0 : 3)}${isDisplay ? "" : ", hour angle to 0"}.`,
        "That is good enough to find the first star; stars then measure the zeros to their own accuracy.",
      ],
      picture: sideView(latitude),
    };
  },
};

/** The mount from the west in the north, from the east in the south: the equator's side is to the right. */
function sideView(latitude: number): ProcedurePicture {
  const angle = Math.abs(latitude) * DEGREE;
  const towards = (altitude: number, length: number): readonly [number, number] => [
    length * Math.cos(altitude),
    length * Math.sin(altitude),
  ];
  const equator = Math.PI / 2 - angle;
  const side = latitude >= 0 ? "south" : "north";
  const line = (name: string, from: readonly [number, number], to: readonly [number, number]) => ({
    name,
    joined: true,
    points: [from, to],
  });
  return {
    x: `${side} →`,
    y: "up",
    lines: [
      line("the tube, level", [0, 0], [1, 0]),
      line("the celestial equator on the meridian", [0, 0], towards(equator, 1)),
      line("the polar axis", towards(equator - Math.PI / 2, 0.5), towards(equator + Math.PI / 2, 0.8)),
    ],
    summary: `The mount from the side: the tube lies level towards the ${side}, ${(90 - Math.abs(latitude)).toFixed(2)}° below the equator on the meridian.`,
    toScale: true,
  };
}
