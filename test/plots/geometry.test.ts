import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { ARCMINUTE, DEGREE } from "../../src/angles.js";
import type { Residual } from "../../src/fit/fit-result.js";
import { fitMount } from "../../src/fit/mount-fit.js";
import { parseMountText } from "../../src/mount/mount-file.js";
import { type BuiltInTermName, termNames } from "../../src/mount/terms.js";
import { readNight } from "../../src/night/night-file.js";
import { contourPieces } from "../../src/plots/contour.js";
import { dishOffset, dishPoint, fromDishPoint } from "../../src/plots/dish.js";
import { arrowOutline, ellipsePoints, niceAbove, niceBelow } from "../../src/plots/drawing.js";
import type { Figure, Json } from "../../src/plots/figure.js";
import * as plots from "../../src/plots/plots.js";
import { lightTheme } from "../../src/words/theme.js";
import { nowhereMap } from "../support/figures.js";
import { nowhereAdvice, nowhereFit, nowhereMount } from "../support/fit-fixture.js";

/** Rounding of the figures' coordinates: five significant figures. */
const COORDINATE_PLACES = 3;
const TINY_STEP_DEG = 1e-4;

function tracesNamed(figure: { data: readonly { readonly [key: string]: Json }[] }, name: string) {
  return figure.data.find((trace) => trace.name === name)!;
}

function coordinates(trace: { readonly [key: string]: Json }): [number, number][] {
  const xs = trace.x as (number | null)[];
  const ys = trace.y as (number | null)[];
  return xs.flatMap((x, index): [number, number][] => (x === null ? [] : [[x, ys[index]!]]));
}

/** Azimuth and altitude, degrees, of an hour angle and declination (spherical triangle; Meeus, Astronomical Algorithms, 13.5 and 13.6). */
function horizontal(hourAngleDeg: number, declinationDeg: number, latitudeDeg: number) {
  const [h, d, f] = [hourAngleDeg * DEGREE, declinationDeg * DEGREE, latitudeDeg * DEGREE];
  const azimuthFromSouth = Math.atan2(Math.sin(h), Math.cos(h) * Math.sin(f) - Math.tan(d) * Math.cos(f));
  const altitude = Math.asin(Math.sin(f) * Math.sin(d) + Math.cos(f) * Math.cos(d) * Math.cos(h));
  return { azimuthDeg: (azimuthFromSouth / DEGREE + 180 + 360) % 360, altitudeDeg: altitude / DEGREE };
}

describe("the dish", () => {
  test("has north up, east right, the zenith in the middle and the horizon as its rim", () => {
    expect(dishPoint(0, 0)[1]).toBeCloseTo(1, 12);
    expect(dishPoint(90, 0)[0]).toBeCloseTo(1, 12);
    expect(dishPoint(225, 90)).toEqual([expect.closeTo(0, 12), expect.closeTo(0, 12)]);
  });

  test("is exact both ways", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 359.9, noNaN: true }),
        fc.double({ min: -5, max: 89.9, noNaN: true }),
        (azimuth, altitude) => {
          const back = fromDishPoint(dishPoint(azimuth, altitude));
          expect(back.altitudeDeg).toBeCloseTo(altitude, 9);
          expect(Math.abs(((back.azimuthDeg - azimuth + 540) % 360) - 180)).toBeLessThan(1e-6);
        },
      ),
      { seed: 11, numRuns: 200 },
    );
  });

  test("turns an offset west and north into the direction in which a star moved by it is seen", () => {
    fc.assert(
      fc.property(
        fc.double({ min: -80, max: 80, noNaN: true }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: 0, max: 360, noNaN: true }),
        fc.double({ min: 5, max: 85, noNaN: true }),
        (latitude, declination, way, _) => {
          const hourAngle = way / 6 - 30;
          const place = horizontal(hourAngle, declination, latitude);
          fc.pre(place.altitudeDeg > 3 && place.altitudeDeg < 87);
          const west = TINY_STEP_DEG * Math.cos(way * DEGREE);
          const north = TINY_STEP_DEG * Math.sin(way * DEGREE);
          const moved = horizontal(
            hourAngle + west / Math.cos(declination * DEGREE),
            declination + north,
            latitude,
          );
          const up = moved.altitudeDeg - place.altitudeDeg;
          const right =
            (((moved.azimuthDeg - place.azimuthDeg + 540) % 360) - 180) *
            Math.cos(place.altitudeDeg * DEGREE);
          const a = place.azimuthDeg * DEGREE;
          const [dx, dy] = dishOffset(
            { hourAngleDeg: hourAngle, declinationDeg: declination, ...place },
            latitude,
            west,
            north,
          );
          // First order: what is left is of the square of the step.
          const tolerance = 1e-3 * TINY_STEP_DEG;
          expect(Math.abs(dx - (-up * Math.sin(a) + right * Math.cos(a)))).toBeLessThan(tolerance);
          expect(Math.abs(dy - (-up * Math.cos(a) - right * Math.sin(a)))).toBeLessThan(tolerance);
        },
      ),
      { seed: 12, numRuns: 300 },
    );
  });
});

describe("residuals over the sky", () => {
  test("arrows are as long as the scale says, also one that was asked for, and point where the telescope points", () => {
    const north: Residual = {
      ...nowhereFit().residuals[0]!,
      west: 0,
      north: 2,
      distance: 2,
      standing: "used",
      ...horizontal(0, 0, -30),
      hourAngleDeg: 0,
      declinationDeg: 0,
    };
    const fit = { ...nowhereFit(), residuals: [north] };
    const arrowFor = (figure: Figure): number => {
      const at = figure.data.findIndex(({ text }) => /′ on the sky/.test(String(text)));
      const scale = coordinates(figure.data[at - 1]!).map(([x]) => x);
      return (
        (Math.max(...scale) - Math.min(...scale)) /
        Number(/([\d.]+)′/.exec(String(figure.data[at]!.text))![1])
      );
    };
    const figure = plots.residualSky(fit);
    const wanted = plots.residualSky(fit, lightTheme, { scaleArcmin: 4 });
    expect(arrowFor(wanted)).toBeCloseTo(0.3 / 4, COORDINATE_PLACES);
    const index = figure.data.findIndex((trace) => trace.name === "used");
    const points = coordinates(figure.data[index - 1]!);
    const [x, y] = coordinates(figure.data[index]!)[0]!;
    const tip = points.reduce((far, point) =>
      Math.hypot(point[0] - x, point[1] - y) > Math.hypot(far[0] - x, far[1] - y) ? point : far,
    );
    expect(Math.hypot(tip[0] - x, tip[1] - y)).toBeCloseTo(2 * arrowFor(figure), COORDINATE_PLACES);
    // On the meridian north is straight north, up on the dish.
    expect(tip[0]).toBeCloseTo(x, COORDINATE_PLACES);
    expect(tip[1]).toBeGreaterThan(y);
  });

  test("stars set aside are distinguished by shape as well as by colour", () => {
    const figure = plots.residualSky(nowhereFit());
    const [used, aside] = ["used", "set aside"].map(
      (name) => tracesNamed(figure, name).marker as { symbol: string; color: string },
    );
    expect(used!.symbol).not.toBe(aside!.symbol);
    expect(used!.color).not.toBe(aside!.color);
  });

  test("hovering tells star, row, readings and residual", () => {
    const fit = nowhereFit();
    const [first] = fit.residuals;
    const hover = (tracesNamed(plots.residualSky(fit), "used").hovertext as string[])[0]!;
    for (const part of [
      first!.star,
      `row ${first!.row}`,
      `${first!.readingHourAngle} counts`,
      `${first!.readingDeclination} counts`,
      "west",
      "north",
    ]) {
      expect(hover).toContain(part);
    }
  });
});

describe("the pattern of a term", () => {
  const latitude = -30;
  const [f, sigma] = [latitude * DEGREE, -1];
  // First order, as in DEVELOPERS.md, "The model": Δh (times cos δ on the sky) and Δδ.
  const table = {
    polarAltitude: (h: number, d: number) => [sigma * Math.sin(h) * Math.sin(d), sigma * Math.cos(h)],
    polarEast: (h: number, d: number) => [sigma * Math.cos(h) * Math.sin(d), -sigma * Math.sin(h)],
    cone: () => [1, 0],
    squareness: (_: number, d: number) => [Math.sin(d), 0],
    tubeSag: (h: number, d: number) => [
      -Math.cos(f) * Math.sin(h),
      Math.sin(f) * Math.cos(d) - Math.cos(f) * Math.sin(d) * Math.cos(h),
    ],
    ringSag: (h: number) => [0, Math.cos(h)],
    trunnionSag: (h: number, d: number) => [
      Math.cos(f) * Math.cos(h) * Math.cos(d) + Math.sin(f) * Math.sin(d),
      0,
    ],
  } as const;

  test.each(Object.entries(table))("%s follows the first-order table", (name, effect) => {
    const effects = plots.termEffects(name as keyof typeof table, latitude);
    expect(effects.length).toBeGreaterThan(50);
    for (const place of effects) {
      const [west, north] = effect(place.hourAngleDeg * DEGREE, place.declinationDeg * DEGREE);
      expect(place.west).toBeCloseTo(west!, 9);
      expect(place.north).toBeCloseTo(north!, 9);
    }
  });

  test("tube sag lifts the readings towards the zenith everywhere", () => {
    for (const place of plots.termEffects("tubeSag", latitude)) {
      const [x, y] = dishPoint(place.azimuthDeg, place.altitudeDeg);
      const [dx, dy] = dishOffset(place, latitude, place.west, place.north);
      const inward = -(dx * x + dy * y) / Math.hypot(x, y);
      expect(inward).toBeCloseTo(Math.cos(place.altitudeDeg * DEGREE), 6);
    }
  });
});

describe("the target", () => {
  test("shows the axis right when too far east and up when too high, with equal scales", () => {
    const fit = nowhereFit();
    const figure = plots.axisPointing(fit);
    const [[x, y]] = coordinates(tracesNamed(figure, "now")) as [[number, number]];
    expect(x).toBeCloseTo(fit.pole.east.value, COORDINATE_PLACES);
    expect(y).toBeCloseTo(fit.pole.altitude.value, COORDINATE_PLACES);
    expect(figure.layout.yaxis).toMatchObject({ scaleanchor: "x" });
    expect(figure.layout.xaxis).toMatchObject({ range: (figure.layout.yaxis as { range: Json }).range });
    expect(JSON.stringify(figure.layout.xaxis)).toContain("east →");
  });

  test("its ellipse is where χ² of two degrees of freedom is 5.991 (95 %, tables of χ²)", () => {
    const [vx, vy, c] = [4, 2, 1.5];
    const determinant = vx * vy - c * c;
    for (const [x, y] of ellipsePoints([3, -1], vx, vy, c, 5.991)) {
      const [dx, dy] = [x - 3, y + 1];
      expect((dx * dx * vy - 2 * dx * dy * c + dy * dy * vx) / determinant).toBeCloseTo(5.991, 9);
    }
  });

  test("marks where the turns should lead", () => {
    const figure = plots.axisPointing(nowhereFit(), nowhereAdvice());
    expect(coordinates(tracesNamed(figure, "after the turns"))).toEqual([[-0.4, 0.2]]);
    expect(figure.summary).toContain("0.2′ too high and 0.4′ too far west");
  });
});

describe("the base from above", () => {
  test("puts every jack in its place, raised, lowered or left by shape", () => {
    const figure = plots.baseFromAbove(nowhereMount, nowhereAdvice());
    expect(coordinates(tracesNamed(figure, "raise"))).toEqual([
      [600, 800],
      [-600, 800],
    ]);
    expect(coordinates(tracesNamed(figure, "lower"))).toEqual([
      [-600, -800],
      [600, -800],
    ]);
    expect((tracesNamed(figure, "raise").marker as { symbol: string }).symbol).toBe("triangle-up");
    expect((tracesNamed(figure, "lower").marker as { symbol: string }).symbol).toBe("triangle-down");
  });

  test("the bolts' arrow points the way that end of the base moves", () => {
    const figure = plots.baseFromAbove(nowhereMount, nowhereAdvice());
    const points = coordinates(tracesNamed(figure, "azimuth bolts"));
    const tip = points[3]!;
    expect(tip[0]).toBe(Math.max(...points.map(([x]) => x)));
    expect(tip[1]).toBeLessThan(0);
  });

  test("nothing is marked to be turned when nothing is recommended", () => {
    const figure = plots.baseFromAbove(nowhereMount, { ...nowhereAdvice(), recommended: false });
    expect(tracesNamed(figure, "raise")).toBeUndefined();
    expect(coordinates(tracesNamed(figure, "leave"))).toHaveLength(4);
    expect(figure.summary).toMatch(/^Nothing is to be turned/);
  });
});

test("correlations come from the covariance, the strongest first", () => {
  const fit = nowhereFit();
  const pairs = plots.correlatedPairs(fit);
  expect(pairs).toHaveLength((fit.terms.length * (fit.terms.length - 1)) / 2);
  const index = (name: string): number => fit.terms.findIndex((term) => term.name === name);
  const pair = pairs.find(({ first, second }) => first.name === "cone" && second.name === "squareness")!;
  const [i, j] = [index("cone"), index("squareness")];
  expect(pair.correlation).toBeCloseTo(
    fit.covariance[i]![j]! / (fit.terms[i]!.uncertainty * fit.terms[j]!.uncertainty),
    9,
  );
  // A cause that is hardly there is not compared.
  const unlikely = {
    ...fit,
    terms: fit.terms.map((term, at) => (at === i ? { ...term, probability: 0.2 } : term)),
  };
  expect(plots.correlatedPairs(unlikely)).toHaveLength(((fit.terms.length - 1) * (fit.terms.length - 2)) / 2);
  const sizes = pairs.map(({ correlation }) => Math.abs(correlation));
  expect(sizes).toEqual([...sizes].sort((a, b) => b - a));
});

test("the rounds stand on a scale of ratios, with the line from where on it is good enough", () => {
  const pole = (value: number) => {
    const at = { value, uncertainty: 0.1 };
    return { pole: { altitude: at, east: at, distance: at } };
  };
  const { data } = plots.roundsConverging([pole(100), pole(10), pole(1)], lightTheme, 2);
  const [first, second, third] = data[0]!.y as number[];
  expect(first! - second!).toBeCloseTo(second! - third!, 9);
  const line = data.find(({ name }) => String(name).startsWith("good enough"))!;
  expect(10 ** (line.y as number[])[0]!).toBeCloseTo(2, 3);
});

test("without sightings the axis is not drawn to the edge of the sky", () => {
  const fit = nowhereFit();
  const lost = { value: 0, uncertainty: 6000 };
  const figure = plots.axisPointing({ ...fit, pole: { ...fit.pole, altitude: lost, east: lost } });
  expect(figure.summary).toContain("Too few sightings");
  const { range } = figure.layout.xaxis as unknown as { range: [number, number] };
  expect(range[1]).toBeLessThan(100);
});

test("a jump of the zeros is found where it is", () => {
  const figure = plots.zeroJump(nowhereFit({ zerosMoveAtRow: 13 }));
  // The fixture moves the second set by 61.2′ and −14.5′; scatter leaves under 1.5′.
  const [, hour, declination] = /rows 12 and 13 by \+([\d.]+)′ in hour angle and −([\d.]+)′/.exec(
    figure.summary,
  )!;
  expect(Math.abs(Number(hour) - 61.2)).toBeLessThan(1.5);
  expect(Math.abs(Number(declination) - 14.5)).toBeLessThan(1.5);
  expect(plots.zeroJump(nowhereFit()).summary).toContain("stood still");
});

test("a jump that the night file does not declare, of one axis only, is drawn too", () => {
  // The demonstration's night with 60 counts of declination (sense −1, 16384 a turn: −79.1′) from row 13 on.
  const mount = parseMountText(readFileSync("data/first-light/mount.json", "utf8"));
  let row = 0;
  const text = readFileSync("data/first-light/night.csv", "utf8").replace(/^2026.*$/gm, (line) => {
    row += 1;
    const [time, star, hourAngle, declination] = line.split(",");
    return row < 13 ? line : [time, star, hourAngle, Number(declination) + 60].join(",");
  });
  const figure = plots.zeroJump(fitMount(readNight(text, mount).night));
  const [, jump] = /rows 12 and 13 by [+−]?0\.0′ in hour angle and −([\d.]+)′/.exec(figure.summary)!;
  // The jump's own uncertainty is 1.1′ on this night.
  expect(Math.abs(Number(jump) - 79.1)).toBeLessThan(3.5);
});

test("the pointing map is read between its points, and held against the camera's field", () => {
  const figure = plots.pointingUncertainty(nowhereMap());
  const heat = figure.data.find((trace) => trace.type === "heatmap")!;
  const [xs, ys, z] = [heat.x as number[], heat.y as number[], heat.z as (number | null)[][]];
  const row = ys.findIndex((y) => y > -0.7);
  const column = xs.findIndex((x) => x > 0);
  const { azimuthDeg, altitudeDeg } = fromDishPoint([xs[column]!, ys[row]!]);
  const exact =
    0.6 +
    1.1 * Math.exp(-(((altitudeDeg - 29) / 20) ** 2)) * (1 + Math.cos((azimuthDeg - 180) * DEGREE)) +
    (90 - altitudeDeg) / 90;
  // Straight lines over 8° of a bell 20° wide: within 8²/8 of its curvature 2 · 2.2 / 20², 0.09′.
  expect(Math.abs(z[row]![column]! - exact)).toBeLessThan(0.1);
  expect(figure.summary).toContain("will be in the picture");
  expect(plots.pointingUncertainty(nowhereMap(2)).summary).toContain("may fall outside");
  const { data } = plots.pointingUncertainty(nowhereMap(2));
  expect(data.filter(({ name }) => String(name).startsWith("as far as half the field"))).toHaveLength(1);
});

test("nice numbers", () => {
  expect([0.23, 19, 390, 1000].map(niceBelow)).toEqual([0.2, 15, 300, 1000]);
  expect([0.23, 19, 390, 1000].map(niceAbove)).toEqual([0.5, 20, 500, 1000]);
  expect(arrowOutline([0, 0], [0, 0], { shaft: 1, head: 1 })).toEqual([]);
  expect(arrowOutline([0, 0], [10, 0], { shaft: 1, head: 3 })[3]).toEqual([10, 0]);
  expect(ARCMINUTE * 60).toBeCloseTo(DEGREE, 15);
});

test("a bearing that is moved up is drawn at the low end of the axis, as everything else that has a place", () => {
  const bearing = {
    axisLengthMm: 1500,
    eastWestPitchMm: 2,
    upDownPitchMm: 2,
    smallestTurn: 0.125,
    travelMm: 10,
  };
  const mount = { ...nowhereMount, base: { ...nowhereMount.base!, lowerBearing: bearing } };
  const moves = [
    { adjuster: "lower bearing", direction: "up", mm: 3, turns: 1.5, uncertaintyTurns: 0.1 },
  ] as const;
  const figure = plots.baseFromAbove(mount, { ...nowhereAdvice(), moves });
  const [place, ...others] = coordinates(tracesNamed(figure, "raise"));
  expect(others).toEqual([]);
  // South of the equator the low end is the north one.
  expect(place![1]).toBeGreaterThan(0);
  expect(figure.summary).toContain("lower bearing up 3.00 mm (1 1/2 turns)");
});

test("the line of one height on a cone is a circle", () => {
  const steps = Array.from({ length: 41 }, (_, index) => -2 + index / 10);
  const heights = steps.map((y) => steps.map((x) => Math.hypot(x, y)));
  const points = contourPieces(steps, steps, heights, 1.234).flat();
  expect(points.length).toBeGreaterThan(100);
  // Straight lines through squares a tenth wide leave a cone of this radius by less than 0.1² / (8 × 1.2).
  for (const [x, y] of points) expect(Math.abs(Math.hypot(x, y) - 1.234)).toBeLessThan(0.002);
});

test("the axis walks from its first night by way of each other to the last, and the still picture has it there", () => {
  const at = (altitude: number, east: number) => {
    const pole = nowhereFit().pole;
    const known = (value: number) => ({ value, uncertainty: 0.5 });
    return { pole: { ...pole, altitude: known(altitude), east: known(east) } };
  };
  const nights = [at(40, -30), at(6, 4), at(0.5, 0.2)];
  const { data, motion } = plots.axisWalk(nights);
  const places = motion!.places.map(({ x, y }) => [x[0], y[0]]);
  const visits = nights.map(({ pole }) =>
    places.findIndex(([x, y]) => x === pole.east.value && y === pole.altitude.value),
  );
  expect(visits[0]).toBe(0);
  expect(visits).toEqual([...visits].sort((a, b) => a - b));
  expect(places.at(-1)).toEqual([0.2, 0.5]);
  expect(data[motion!.trace]).toMatchObject({ x: [0.2], y: [0.5] });
  // No frame jumps by more than a twentieth of a leg.
  for (let k = 1; k < places.length; k++)
    expect(Math.hypot(places[k]![0]! - places[k - 1]![0]!, places[k]![1]! - places[k - 1]![1]!)).toBeLessThan(
      2.5,
    );
  expect(plots.axisWalk(nights.slice(0, 1)).motion).toBeUndefined();
});

test("the part that an error sits in lies beside the dashed one; errors of how readings are taken have no part", () => {
  const ends = (name: BuiltInTermName, latitude: number) => {
    const part = plots.mountPart(name, { latitude });
    if (part === null) return null;
    const [should, wrong] = part.data.filter(({ showlegend }) => showlegend === true) as {
      x: number[];
      y: number[];
    }[];
    return { should: should!, wrong: wrong! };
  };
  for (const latitude of [-33, 48]) {
    // As it should be, the axis leans by the latitude; seen from the side its drawn slope grows with it.
    const { should, wrong } = ends("polarAltitude", latitude)!;
    const slope = ({ x, y }: { x: number[]; y: number[] }): number =>
      Math.atan2(y[1]! - y[0]!, Math.abs(x[1]! - x[0]!));
    expect(slope(wrong) - slope(should)).toBeGreaterThan(8 * DEGREE);
    // A sag bends the tube below a straight line.
    const tube = ends("tubeSag", latitude)!.wrong;
    const [first, last, middle] = [0, tube.x.length - 1, Math.floor(tube.x.length / 2)];
    const chord =
      tube.y[first]! +
      ((tube.y[last]! - tube.y[first]!) * (tube.x[middle]! - tube.x[first]!)) /
        (tube.x[last]! - tube.x[first]!);
    expect(tube.y[middle]!).toBeGreaterThan(chord + 1);
  }
  const span = (values: readonly (number | null)[]): readonly [number, number] => {
    const all = values.filter((value) => value !== null);
    return [Math.min(...all), Math.max(...all)];
  };
  const width = (values: readonly (number | null)[]): number => span(values)[1] - span(values)[0];
  // A ring that gives is wider than high, an eccentric disc lies beside the axis, a roller that turns too often is small.
  const ring = ends("ringSag", 48)!;
  expect(width(ring.wrong.x)).toBeGreaterThan(width(ring.should.x) + 5);
  expect(width(ring.wrong.y)).toBeLessThan(width(ring.should.y) - 5);
  for (const [name, along] of [
    ["hourAngleEccentricSin", "y"],
    ["declinationEccentricCos", "x"],
  ] as const) {
    const disc = ends(name, 48)!;
    expect(span(disc.wrong[along])[1]).toBeGreaterThan(span(disc.should[along])[1] + 5);
    expect(width(disc.wrong[along])).toBeCloseTo(width(disc.should[along]), 0);
  }
  const rollers = plots.mountPart("declinationScale", { latitude: 48 })!.data;
  const [meant, real] = [rollers[0]!, rollers[2]!].map(({ x }) => width(x as number[]));
  expect(real).toBeLessThan(meant! - 5);
  for (const name of ["hourAngleZero", "declinationBacklash"] as const) expect(ends(name, 48)).toBeNull();
});

test("every error has a pattern that shows, and its arrows run from the star to where the readings say", () => {
  for (const name of termNames) {
    const effects = plots.termEffects(name, -29);
    expect(Math.max(...effects.map(({ west, north }) => Math.hypot(west, north))), name).toBeGreaterThan(0.4);
    const { summary } = plots.termPattern(name, { latitude: -29 });
    expect(summary).toContain("from a star, where the telescope really looks, to where its readings say");
  }
});
