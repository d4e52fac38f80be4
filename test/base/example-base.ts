/** Bases and mounts for the tests; the Nowhere School and its 40 cm split ring are invented. */

import { adviseTurns, type TurnOptions } from "../../src/base/jack-turns.js";
import type { TurnAdvice } from "../../src/base/turn-advice.js";
import type { AzimuthBolts, Base, Jack, LowerBearing, Mount } from "../../src/mount/mount.js";
import { defaultTolerances } from "../../src/mount/mount-schema.js";

export function jack(name: string, eastMm: number, northMm: number, more: Partial<Jack> = {}): Jack {
  return {
    name,
    eastMm,
    northMm,
    pitchMm: 2,
    clockwise: "raises",
    smallestTurn: 0.125,
    raiseLeftMm: 30,
    lowerLeftMm: 10,
    softGround: false,
    ...more,
  };
}

export function fourJacks(more: Partial<Jack> = {}): Jack[] {
  return [
    jack("north-east", 600, 800, more),
    jack("north-west", -600, 800, more),
    jack("south-west", -600, -800, more),
    jack("south-east", 600, -800, more),
  ];
}

export function threeJacks(more: Partial<Jack> = {}): Jack[] {
  return [
    jack("north", 0, 900, more),
    jack("south-west", -550, -500, more),
    jack("south-east", 550, -500, more),
  ];
}

export function sixJacks(more: Partial<Jack> = {}): Jack[] {
  return [...fourJacks(more), jack("east", 650, 40, more), jack("west", -580, -30, more)];
}

export const southBolts: AzimuthBolts = {
  end: "south",
  leverMm: 1500,
  pitchMm: 1.5,
  smallestTurn: 0.125,
  travelMm: null,
};

export const lowBearing: LowerBearing = {
  axisLengthMm: 1200,
  eastWestPitchMm: 1,
  upDownPitchMm: 1,
  smallestTurn: 0.125,
  travelMm: 12,
};

export function exampleBase(more: Partial<Base> = {}): Base {
  return {
    jacks: fourJacks(),
    warpLimitMm: 0.3,
    tiltLimitDeg: 2,
    azimuthBolts: null,
    lowerBearing: null,
    ...more,
  };
}

export function exampleMount(latitude: number, base: Base | null): Mount {
  return {
    name: "Nowhere School 40 cm (invented)",
    site: { latitude, longitude: 20, heightM: 1000, pressureHPa: 900, temperatureC: 12, dut1S: 0 },
    kind: "split-ring",
    readings: {
      hourAngle: { as: "counts", perTurn: 16384, sense: 1, smallest: 1 },
      declination: { as: "counts", perTurn: 16384, sense: -1, smallest: 1 },
    },
    centringArcmin: 0.7,
    timingS: 0.5,
    tolerances: defaultTolerances,
    customTerms: [],
    limits: { altitudeDeg: 15, hourAngleHours: [-6, 6], declinationDeg: [-90, 60], horizon: [] },
    base,
    camera: null,
    drive: null,
    trunnionSpacingMm: null,
    ringSpacingMm: null,
  };
}

export interface PoleGiven {
  readonly altitude: number;
  readonly east: number;
  readonly altitudeUncertainty?: number;
  readonly eastUncertainty?: number;
  readonly covariance?: number;
}

export function advise(latitude: number, base: Base, pole: PoleGiven, options: TurnOptions = {}): TurnAdvice {
  return adviseTurns(
    {
      mount: exampleMount(latitude, base),
      pole: {
        altitude: { value: pole.altitude, uncertainty: pole.altitudeUncertainty ?? 0.4 },
        east: { value: pole.east, uncertainty: pole.eastUncertainty ?? 0.3 },
        covariance: pole.covariance ?? 0,
      },
      sound: true,
      troubles: [],
    },
    options,
  );
}
