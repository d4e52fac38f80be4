/** What is chosen and said at the rims of travel, tilt and certainty: each figure by hand (elementary geometry, no source). */
import { describe, expect, it } from "vitest";
import { ARCMINUTE } from "../../src/angles.js";
import { adjustersOf } from "../../src/base/adjusters/adjusters.js";
import { anotherRound } from "../../src/base/another-round.js";
import { turnsFigure, turnsOf } from "../../src/base/base-words.js";
import { jackTurns } from "../../src/base/jack-turns.js";
import { learnRounds, type RoundGiven, rounds } from "../../src/base/rounds.js";
import { groupSteps } from "../../src/base/turn-steps.js";
import { parseTurned, turnsOfRound } from "../../src/base/turned-file.js";
import type { MountFit } from "../../src/fit/fit-result.js";
import type { Limits } from "../../src/mount/mount.js";
import { advise, exampleBase, exampleMount, fourJacks, lowBearing, southBolts } from "./example-base.js";
import { nightOf } from "./world.js";

const DEG = Math.PI / 180;

describe("where the travel ends", () => {
  const short = fourJacks({ raiseLeftMm: 5, lowerLeftMm: 5 });
  // Ten millimetres over the 1600 mm between north and south feet, 1200 mm between east and west ones.
  const reach = { altitude: Math.atan(10 / 1600) / ARCMINUTE, tilt: Math.atan(10 / 1200) / ARCMINUTE };

  it.each([
    [45, -50, "north"],
    [45, 50, "south"],
    [-45, -50, "south"],
    [-45, 50, "north"],
  ])(
    "at latitude %i, %i′ in altitude: how much of the way, what stays, which side to pack",
    (latitude, altitude, side) => {
      const { reasons, notes } = advise(latitude, exampleBase({ jacks: short }), { altitude, east: 0 });
      const part = Math.round((100 * reach.altitude) / 50);
      const stays = 50 - reach.altitude;
      const told = notes.find((note) => note.startsWith("Altitude: the jacks reach only"))!;
      expect(told).toContain(`only ${part} % of the way; ${stays.toFixed(1)}′ stays.`);
      expect(told).toContain(
        `pack the feet of the ${side} side by about ${(1600 * stays * ARCMINUTE).toFixed(1)} mm`,
      );
      expect(reasons).toContain(told);
    },
  );

  it.each([52, -35])("at latitude %i, by a tilt: how far to slide for the rest", (latitude) => {
    const { notes } = advise(
      latitude,
      exampleBase({ jacks: short }),
      { altitude: 0, east: 60 },
      { azimuthBy: "tilt" },
    );
    const stays = 60 - reach.tilt * Math.abs(Math.sin(latitude * DEG));
    const told = notes.find((note) => note.startsWith("East–west: tilting"))!;
    expect(Number(/; ([\d.]+)′ stays/.exec(told)![1])).toBeCloseTo(stays, 0);
    const slid = (1600 * stays * ARCMINUTE) / Math.cos(latitude * DEG);
    expect(Number(/end about ([\d.]+) mm/.exec(told)![1]!) / slid).toBeCloseTo(1, 2);
    expect(told).toContain(latitude < 0 ? "its north end" : "its south end");
  });

  it("names what there is where nothing can move an axis, and nothing where there is nothing", () => {
    const only = exampleBase({ jacks: [], azimuthBolts: southBolts });
    const told = advise(45, only, { altitude: 20, east: 10 }).notes;
    expect(told).toContain("Altitude: nothing on the base can move the axis. 20.0′ stays.");
    const two = exampleBase({ jacks: fourJacks().slice(0, 2), azimuthBolts: southBolts });
    expect(advise(45, two, { altitude: 20, east: 10 }).notes.join(" ")).toContain(
      "nothing on the base can move the axis (the jacks: no, the jacks are fewer than three, or stand in one line).",
    );
  });
});

describe("the limit of tilt", () => {
  const base = exampleBase({ tiltLimitDeg: 1 });
  it.each([
    [42, true],
    [43, false],
  ])("%i′ to the east at 45°: as far out of level as the limit, or farther", (east, possible) => {
    // 60′ · sin 45° = 42.4′.
    const { choices } = advise(45, base, { altitude: 0, east });
    expect(choices.find(({ by }) => by === "tilt")!.possible).toBe(possible);
  });
  it.each([
    [59.5, false],
    [60.5, true],
  ])("%f′ in altitude: a north–south tilt is told of from the limit on", (altitude, told) => {
    const { notes } = advise(45, base, { altitude, east: 0 });
    expect(notes.some((note) => note.includes("more than the limit of 1° out of level"))).toBe(told);
  });
});

describe("another round", () => {
  const mount = exampleMount(45, exampleBase());
  const evidence = { allows: "advice", missing: 0, unsound: false } as const;
  const pole = (altitude: number, east: number, uncertainty = 1) => ({
    altitude: { value: altitude, uncertainty },
    east: { value: east, uncertainty },
    covariance: 0,
  });
  const verdictOf = (altitude: number, east: number, aimAltitude?: number): string =>
    anotherRound({
      mount,
      pole: pole(altitude, east),
      evidence,
      ...(aimAltitude === undefined ? {} : { aimAltitude }),
    }).verdict;
  it.each([
    [3.001, 0, undefined, "turn"],
    [2.999, 0, undefined, "stop"],
    [-3.001, 0, undefined, "turn"],
    [0, -2.999, undefined, "stop"],
    [5.001, 0, 2, "turn"],
    [4.999, 0, 2, "stop"],
    [-1.001, 0, 2, "turn"],
    [1199, 0, undefined, "turn"],
    [0, -1201, undefined, "unsound"],
  ])("from %f′, %f′, aiming %s′ higher: %s", (altitude, east, aim, verdict) => {
    expect(verdictOf(altitude, east, aim)).toBe(verdict);
  });
});

describe("words", () => {
  it("give turns in lowest terms of the parts that a hand counts", () => {
    const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));
    for (const of of [2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 64, 100])
      for (let k = 1; k < 2 * of; k++) {
        const common = divisor(k, of);
        // A twenty-fifth and a fiftieth are no parts of their own.
        if ([25, 50].includes(of / common)) continue;
        const [whole, part] = [Math.floor(k / of), (k % of) / common];
        const fraction = part === 0 ? "" : `${part}/${of / common}`;
        expect(turnsFigure(k / of)).toBe(
          [whole === 0 ? "" : String(whole), fraction].filter(Boolean).join(" "),
        );
      }
    expect([0.5, 1, 1.125, 2].map(turnsOf)).toEqual(["1/2 turn", "1 turn", "1 1/8 turns", "2 turns"]);
    expect(turnsFigure(0.1234567)).toBe("0.123");
  });

  it("name each screw of a lower bearing by the way it goes", () => {
    const [bearing] = adjustersOf(exampleBase({ jacks: [], lowerBearing: lowBearing }), 45).filter(
      ({ names }) => names.includes("lower bearing"),
    );
    const turn = (direction: "east" | "up") => ({ adjuster: "lower bearing", turns: 1, direction, mm: null });
    expect(bearing!.screws([turn("east")]).map(({ name }) => name)).toEqual(["lower bearing (east–west)"]);
    expect(bearing!.screws([turn("up")]).map(({ name }) => name)).toEqual(["lower bearing (up–down)"]);
  });

  it("put the same steps together, the longest run first, and lose none", () => {
    const step = (text: string) => ({ text, adjuster: text, turns: 0.125, direction: "clockwise", mm: 0.25 });
    for (const order of ["ababab", "aab", "abcabcx", "xyyyz", "abab" + "cc", "abcd", "aabbaabb"]) {
      const steps = [...order].map(step);
      const groups = groupSteps(steps);
      const again = groups.flatMap(({ times, steps: some }) =>
        Array.from({ length: times }, () => some).flat(),
      );
      expect(again).toEqual(steps);
    }
    const counted = (order: string) =>
      groupSteps([...order].map(step)).map(
        ({ times, steps }) => `${times}${steps.map(({ text }) => text).join("")}`,
      );
    expect(counted("ababab")).toEqual(["3ab"]);
    expect(counted("aab")).toEqual(["2a", "1b"]);
    expect(counted("abcabcx")).toEqual(["2abc", "1x"]);
    expect(counted("aabbaabb")).toEqual(["2aabb"]);
    expect(counted("abcd")).toEqual(["1a", "1b", "1c", "1d"]);
    // Sixteen steps may repeat, seventeen are told one by one.
    const long = "abcdefghijklmnop";
    expect(counted(long + long)).toEqual([`2${long}`]);
    expect(counted(`${long}q${long}q`)).toHaveLength(34);
  });
});

describe("under a star", () => {
  /** Only a window of the sky is free: above the profile on both sides of one azimuth. */
  const window = (azimuthDeg: number, half: number): Limits => ({
    altitudeDeg: 15,
    hourAngleHours: [-12, 12],
    declinationDeg: [-90, 90],
    horizon: (
      [
        [azimuthDeg - half - 1, 89],
        [azimuthDeg - half, 0],
        [azimuthDeg + half, 0],
        [azimuthDeg + half + 1, 89],
      ] as const
    )
      .map(([azimuth, altitude]) => [(azimuth + 360) % 360, altitude] as const)
      .sort(([a], [b]) => a - b),
  });
  const mount = exampleMount(47, exampleBase({ azimuthBolts: southBolts }));
  const fit = nightOf(mount, { altitude: -30, east: 25, terms: {} }, 5);
  const starsIn = (azimuthDeg: number, half: number) =>
    Array.from({ length: 16 }, (_, k) => {
      const limits = window(azimuthDeg, half);
      const starFromMs = Date.UTC(2026, 2, 14, 20) + k * 20 * 60_000;
      return jackTurns({ ...fit, mount: { ...fit.mount, limits } }, { starFromMs }).underStar;
    }).flatMap((star) => (star === null ? [] : [star]));

  it("none is taken where tilt and turn move it along one line: on the prime vertical", () => {
    // Due south a tilt moves stars north and south, a turn east and west.
    expect(starsIn(180, 14).length).toBeGreaterThan(0);
    expect(starsIn(270, 5)).toEqual([]);
    expect(starsIn(90, 5)).toEqual([]);
    // Beside it some serve: those whose two lines cross at ten degrees and more.
    const beside = [...starsIn(270, 25), ...starsIn(90, 25)];
    expect(beside.length).toBeGreaterThan(0);
    for (const { shares } of beside) {
      const [a, b] = shares as [{ west: number; north: number }, { west: number; north: number }];
      const across = a.west * b.north - a.north * b.west;
      const sine = across / (Math.hypot(a.west, a.north) * Math.hypot(b.west, b.north));
      // Ten degrees apart in the middle of the half hour; at its beginning six at least.
      expect(sine ** 2).toBeGreaterThan(0.011);
    }
  });
});

it("a tilt is told of means that tilt, and of no other", () => {
  const { choices } = advise(30, exampleBase({ azimuthBolts: southBolts }), { altitude: 0, east: 20 });
  const of = (by: string) => choices.find((choice) => choice.by === by)!;
  expect(of("bolts").tiltArcmin).toBe(0);
  expect(of("slide").tiltArcmin).toBe(0);
  expect(of("tilt").tiltArcmin).toBeCloseTo(20 / Math.sin(30 * DEG), 1);
});

it("nights whose times are not known count as a day apart", () => {
  const mount = exampleMount(45, exampleBase());
  const DAY_MS = 86_400_000;
  const nowOf = (times: readonly (number | null)[]) => {
    // A floor that wanders by an arcminute and more from night to night.
    const nights = [0, 1.5, -1, 0.8].map(
      (altitude, k): RoundGiven => ({
        pole: {
          altitude: { value: altitude, uncertainty: 0.3 },
          east: { value: -altitude, uncertainty: 0.3 },
          covariance: 0,
        },
        sound: true,
        meanTimeMs: times[k]!,
        turnsMade: [],
      }),
    );
    return learnRounds(mount, nights).now;
  };
  const daily = nowOf([0, DAY_MS, 2 * DAY_MS, 3 * DAY_MS]);
  expect(nowOf([null, null, null, null])).toEqual(daily);
  expect(nowOf([0, null, 2 * DAY_MS, null])).toEqual(daily);
  expect(nowOf([0, 20 * DAY_MS, 40 * DAY_MS, 60 * DAY_MS])).not.toEqual(daily);
});

describe("rounds of nights", () => {
  const base = exampleBase({ azimuthBolts: southBolts });
  const mount = exampleMount(-40, base);
  const fits: readonly MountFit[] = [
    nightOf(mount, { altitude: -17, east: 12, terms: { cone: 5 } }, 21),
    nightOf(mount, { altitude: -2, east: 1.5, terms: { cone: 5 } }, 22),
  ];
  const turned = parseTurned(
    "round,adjuster,turns,direction\n1,south-east,3.5,clockwise\n1,south-west,3.5,clockwise\n1,azimuth bolts,2.5,west\n",
    base,
  );

  it("know what every night has in common: a pole follows a held term by −C/T² of it", () => {
    const given = fits.map((fit, index): RoundGiven => {
      const at = (name: string) => fit.terms.findIndex((term) => term.name === name);
      return {
        pole: fit.pole,
        sound: true,
        meanTimeMs: fit.meanTimeMs,
        turnsMade: index === 0 ? turnsOfRound(turned, 1, mount) : [],
        shared: fit.terms.flatMap(({ name, set, tolerance }, k) =>
          tolerance === null
            ? []
            : [
                {
                  term: `${name} ${set ?? ""}`,
                  tolerance,
                  altitude: -fit.covariance[at("polarAltitude")]![k]! / tolerance ** 2,
                  east: -fit.covariance[at("polarEast")]![k]! / tolerance ** 2,
                },
              ],
        ),
      };
    });
    const [learned, expected] = [rounds(fits, turned), learnRounds(mount, given)];
    for (const axis of ["altitude", "east"] as const) {
      expect(learned.now[axis].value).toBeCloseTo(expected.now[axis].value, 9);
      expect(learned.now[axis].uncertainty).toBeCloseTo(expected.now[axis].uncertainty, 9);
    }
    expect(learned.gains).toEqual(expected.gains);
    // Together the nights are not surer than what both have in common lets them be.
    const apart = learnRounds(
      mount,
      given.map((one) => ({ ...one, shared: [] })),
    );
    expect(learned.now.altitude.uncertainty).toBeGreaterThan(apart.now.altitude.uncertainty);
  });

  it("report what was asked of a night whose pole is not known, and found nothing by it", () => {
    const unknown = { value: Number.NaN, uncertainty: Number.NaN };
    const lost = { ...fits[0]!, pole: { ...fits[0]!.pole, altitude: unknown, east: unknown } };
    const { rounds: told } = rounds([lost, fits[1]!], turned);
    const { rounds: known } = rounds(fits, turned);
    for (const axis of ["altitude", "east"] as const) {
      expect(told[0]!.asked[axis] / known[0]!.asked[axis]).toBeCloseTo(1, 1);
      // The change from night to night, and both nights' uncertainties.
      const change = fits[1]!.pole[axis].value - fits[0]!.pole[axis].value;
      expect(known[0]!.found![axis].value).toBeCloseTo(change, 9);
      expect(known[0]!.gain[axis]!.value).toBeCloseTo(change / known[0]!.asked[axis], 9);
    }
    expect(told[0]!.found).toBeNull();
    expect(told[0]!.gain).toEqual({ altitude: null, east: null });
    expect(known[1]).toMatchObject({ round: 2, found: null, after: null });
  });
});
