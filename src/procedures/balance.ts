import { DEGREE } from "../angles.js";
import type { Procedure } from "./procedure.js";

/** Standard gravity, m/s² (CGPM 1901). */
const GRAVITY = 9.80665;

/** Balance by two static pulls. */
export const balance: Procedure = {
  name: "balance",
  title: "Balance, by two static pulls",
  steps: [
    "Free the axis. Hook a spring balance to the tube's front end, square to the tube, at a known distance from the axis: armMm.",
    "Hold the tube at rest at a first angle above level (angles) and write down the pull that holds it up, newtons (pulls); negative if it must be held down.",
    "Read once while it just begins to rise and once while it just begins to sink, and take the mean: friction falls out.",
    "Repeat at a second angle, 40° or more away.",
    "For the roller's grip write down the ring's diameter, the load on the driving roller, and the friction (steel on steel, dry: 0.15, from memory).",
  ],
  write: {
    angles: {
      meaning: "the two angles of the tube above level, degrees",
      usual: null,
      several: true,
      from: -90,
      to: 90,
    },
    pulls: {
      meaning: "the two pulls that hold the front end up, newtons",
      usual: null,
      several: true,
      from: -1e5,
      to: 1e5,
    },
    armMm: { meaning: "from the axis to the hook, millimetres", usual: null, from: 1, to: 100_000 },
    pullErrorN: { meaning: "how well a pull is read, newtons (1σ)", usual: 0.5, from: 0.001, to: 1000 },
    addAtMm: {
      meaning: "where a weight could be put on the tube, millimetres from the axis, front positive",
      usual: -500,
      from: -100_000,
      to: 100_000,
    },
    ringMm: {
      meaning: "diameter of the ring, millimetres; 0: no roller drive",
      usual: 0,
      from: 0,
      to: 100_000,
    },
    rollerLoadN: { meaning: "load on the driving roller, newtons", usual: 0, from: 0, to: 1e6 },
    friction: { meaning: "friction between roller and ring", usual: 0.15, from: 0.01, to: 1.5 },
  },
  cautions: [
    "An unbalanced tube swings by itself the moment the clamp opens. Two people: one holds the tube, one works the clamp.",
    "Tie the tube with a slack rope before the clamp is opened. Nobody stands under the ends.",
    "Fasten every weight with two screws or a strap: a weight that slides off swings the tube.",
  ],
  work(written) {
    const { angles, pulls } = written;
    const arm = written.armMm![0]!;
    const [first, second] = [angles![0]!, angles![1] ?? Number.NaN];
    const determinant = Math.sin((second - first) * DEGREE);
    if (angles!.length !== 2 || pulls!.length !== 2 || !(Math.abs(determinant) > MIN_DETERMINANT)) {
      return {
        sentence: "Two pulls at two angles, 20° apart at least, show the balance; these do not.",
        found: [],
        next: ["Repeat with the tube at 0° and at 60°."],
        picture: null,
      };
    }
    // The weight turns the tube by W (a cos θ − b sin θ), a along the tube to the front, b square to it, upward.
    const torque = pulls!.map((pull) => pull * arm);
    const [c1, s1, c2, s2] = [first, second].flatMap((angle) => [
      Math.cos(angle * DEGREE),
      Math.sin(angle * DEGREE),
    ]) as [number, number, number, number];
    const along = (torque[0]! * s2 - torque[1]! * s1) / determinant / GRAVITY;
    const across = (torque[0]! * c2 - torque[1]! * c1) / determinant / GRAVITY;
    const error = (written.pullErrorN![0]! * arm) / GRAVITY / Math.abs(determinant);
    const alongError = error * Math.hypot(s1, s2);
    const acrossError = error * Math.hypot(c1, c2);
    const place = written.addAtMm![0]!;
    const mass = place === 0 ? Number.NaN : -along / place;
    const worst =
      Math.max(
        ...[0, 30, 60, 90].map((angle) =>
          Math.abs(along * Math.cos(angle * DEGREE) - across * Math.sin(angle * DEGREE)),
        ),
      ) * GRAVITY;
    const next: string[] = [];
    if (Math.abs(along) < 2 * alongError)
      next.push("Along the tube it is balanced as far as the pulls show.");
    else if (mass > 0)
      next.push(
        `Add ${mass.toFixed(2)} kg at ${Math.abs(place).toFixed(0)} mm ${place < 0 ? "behind" : "in front of"} the axis.`,
      );
    else if (Number.isFinite(mass))
      next.push(
        `Take ${(-mass).toFixed(2)} kg away at ${Math.abs(place).toFixed(0)} mm ${place < 0 ? "behind" : "in front of"} the axis, or add as much on the other side at the same distance.`,
      );
    if (Math.abs(across) > 2 * acrossError)
      next.push(
        `Across the tube ${Math.abs(across).toFixed(0)} kg·mm are too much on the ${across > 0 ? "upper" : "lower"} side: put a weight of kg times mm as large on the ${across > 0 ? "lower" : "upper"} side.`,
      );
    const ring = written.ringMm![0]!;
    const found = [
      { name: "along the tube, front heavy positive", unit: "kg mm", value: along, uncertainty: alongError },
      {
        name: "across the tube, upper side positive",
        unit: "kg mm",
        value: across,
        uncertainty: acrossError,
      },
    ];
    if (ring > 0) {
      const grip = (written.friction![0]! * written.rollerLoadN![0]! * ring) / 2;
      next.push(
        grip > 2 * worst
          ? `The roller grips: it holds ${(grip / 1000).toFixed(1)} N·m, the tube out of balance turns with ${(worst / 1000).toFixed(1)} N·m at most.`
          : `The roller may slip: it holds ${(grip / 1000).toFixed(1)} N·m, the tube out of balance turns with up to ${(worst / 1000).toFixed(1)} N·m. Balance better, or load the roller more.`,
      );
      found.push({ name: "the roller holds", unit: "N mm", value: grip, uncertainty: 0.3 * grip });
    }
    return {
      sentence:
        `The front end is ${along >= 0 ? "heavy" : "light"} by ${Math.abs(along).toFixed(0)} ± ${alongError.toFixed(0)} kg·mm; across the tube ${across.toFixed(0)} ± ${acrossError.toFixed(0)} kg·mm.`.replace(
          /-(\d)/g,
          "−$1",
        ),
      found,
      next,
      picture: {
        x: "tube above level, °",
        y: "pull, N",
        lines: [
          {
            name: "measured",
            joined: false,
            points: [first, second].map((angle, k) => [angle, pulls![k]!] as const),
          },
          {
            name: "by the balance found",
            joined: true,
            points: Array.from({ length: 19 }, (_, k) => {
              const angle = -90 + 10 * k;
              const turns = along * Math.cos(angle * DEGREE) - across * Math.sin(angle * DEGREE);
              return [angle, (turns * GRAVITY) / arm] as const;
            }),
          },
        ],
        summary: "The pull that holds the tube at each angle; where it is zero the tube rests by itself.",
      },
    };
  },
};

const MIN_DETERMINANT = 0.34;
