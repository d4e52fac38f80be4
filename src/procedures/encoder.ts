import type { Procedure } from "./procedure.js";

const COUNTS = { from: -1e10, to: 1e10 };

/** A circle about a point on the axis across, to be joined. */
function circle(radius: number, x: number): (readonly [number, number])[] {
  return Array.from({ length: 73 }, (_, k) => [
    x + radius * Math.cos((k * Math.PI) / 36),
    radius * Math.sin((k * Math.PI) / 36),
  ]);
}

/** Sense and steps by one full turn of the axis, from mark to mark. */
export const encoderByTurn: Procedure = {
  name: "encoder-turn",
  title: "An encoder's sense and steps, by one full turn",
  steps: [
    "Make two marks that meet: one on the axis, one on what stands still, as far from the axis's centre as you can.",
    "Let the marks meet; write down the reading as before.",
    "Turn the axis one full turn westward (the declination axis northward), or as many whole turns as cables allow, until the marks meet again.",
    "Write down the reading as after. If the mount cannot make a full turn, use encoder-diameter instead.",
  ],
  write: {
    before: { meaning: "the reading with the marks together", usual: null, ...COUNTS },
    after: { meaning: "the reading after the turn westward or northward", usual: null, ...COUNTS },
    turns: { meaning: "how many whole turns", usual: 1, from: 1, to: 100 },
    markMm: { meaning: "how well the marks meet, millimetres (1σ)", usual: 0.5, from: 0.001, to: 100 },
    radiusMm: {
      meaning: "from the axis's centre to the marks, millimetres",
      usual: null,
      from: 1,
      to: 100_000,
    },
  },
  cautions: [
    "Free all cables first: a full turn winds them up and can tear them, or pull the tube along.",
    "The tube must be balanced. One person holds it all the way; nobody stands under it.",
    "Cap the tube by day. It may sweep over the Sun.",
  ],
  work(written) {
    const [before, after, turns, markMm, radiusMm] = ["before", "after", "turns", "markMm", "radiusMm"].map(
      (name) => written[name]![0]!,
    ) as [number, number, number, number, number];
    const counts = after - before;
    const perTurn = Math.abs(counts) / turns;
    const uncertainty =
      Math.hypot((Math.SQRT2 * markMm * perTurn) / (2 * Math.PI * radiusMm), 1 / Math.sqrt(6)) / turns;
    const sense = counts >= 0 ? 1 : -1;
    return {
      sentence: `The encoder counts ${perTurn.toFixed(1)} ± ${uncertainty.toFixed(1)} a turn, and its sense is ${sense === 1 ? "+1" : "−1"}.`,
      found: [
        { name: "perTurn", unit: "counts a turn", value: perTurn, uncertainty },
        { name: "sense", unit: "", value: sense, uncertainty: 0 },
      ],
      next: [
        `Write into the mount file: "perTurn": ${Math.round(perTurn)}, "sense": ${sense}.`,
        "A power of two or a round number within the uncertainty is most likely the true one.",
      ],
      picture: {
        x: "turns of the axis, westward (northward) positive",
        y: "counts",
        lines: [
          {
            name: "the reading as it must run",
            joined: true,
            points: [
              [0, before],
              [turns, after],
            ],
          },
          {
            name: "written down, marks together",
            joined: false,
            points: [
              [0, before],
              [turns, after],
            ],
          },
        ],
        summary: `The reading goes ${sense === 1 ? "up" : "down"} as the axis turns westward (northward): from ${before} to ${after} in ${turns === 1 ? "a turn" : `${turns} turns`}.`,
      },
    };
  },
};

/** Steps by the diameters, where an encoder rides on the ring with a wheel of its own. */
export const encoderByDiameter: Procedure = {
  name: "encoder-diameter",
  title: "An encoder's steps by N · D / d",
  steps: [
    "Write down the steps of the encoder for one turn of its own shaft: steps.",
    "Measure the ring's diameter where the encoder's wheel runs: ringMm. A tape laid round it and divided by π is best.",
    "Measure the wheel's diameter with a caliper: wheelMm.",
  ],
  write: {
    steps: { meaning: "steps for a turn of the encoder's own shaft", usual: null, from: 1, to: 1e9 },
    ringMm: { meaning: "the ring's diameter, millimetres", usual: null, from: 1, to: 100_000 },
    wheelMm: { meaning: "the wheel's diameter, millimetres", usual: null, from: 0.5, to: 100_000 },
    ringErrorMm: {
      meaning: "how well the ring is measured, millimetres (1σ)",
      usual: 0.5,
      from: 0.0001,
      to: 100,
    },
    wheelErrorMm: {
      meaning: "how well the wheel is measured, millimetres (1σ)",
      usual: 0.02,
      from: 0.0001,
      to: 100,
    },
  },
  cautions: ["Drive power off while fingers are near the wheel: it draws them in."],
  work(written) {
    const value = (name: string): number => written[name]![0]!;
    const perTurn = (value("steps") * value("ringMm")) / value("wheelMm");
    const relative = Math.hypot(
      value("ringErrorMm") / value("ringMm"),
      value("wheelErrorMm") / value("wheelMm"),
    );
    return {
      sentence: `The encoder counts ${perTurn.toFixed(1)} ± ${(perTurn * relative).toFixed(1)} for a turn of the axis.`,
      found: [{ name: "perTurn", unit: "counts a turn", value: perTurn, uncertainty: perTurn * relative }],
      next: [
        `Write into the mount file: "perTurn": ${Math.round(perTurn)}.`,
        `That is sure to ${(60 * relative * 90).toFixed(0)}′ in a quarter turn; the fit's scale term finds the rest from stars.`,
      ],
      picture: {
        x: "millimetres",
        y: "millimetres",
        lines: [
          { name: "the ring", joined: true, points: circle(value("ringMm") / 2, 0) },
          {
            name: "the encoder's wheel on it",
            joined: true,
            points: circle(value("wheelMm") / 2, (value("ringMm") + value("wheelMm")) / 2),
          },
        ],
        summary: `Ring and wheel to scale: the wheel turns ${(value("ringMm") / value("wheelMm")).toFixed(2)} times for one turn of the ring.`,
        toScale: true,
      },
    };
  },
};
