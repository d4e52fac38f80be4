/**
 * A tracking mount by plain 3 × 3 rotation matrices, written for the tests and knowing nothing of the project's formulas: the
 * camera turns rigidly about the mount's axis, the stars about the pole, both westward; no air, no sags.
 */
export type Matrix = readonly (readonly number[])[];

const RADIAN_ARCMIN = (180 * 60) / Math.PI;
const RADIAN_ARCSEC = RADIAN_ARCMIN * 60;
/** One turn of the sky in 86164.0905 s (mean sidereal day, any almanac). */
const SKY_RADIANS_SECOND = (2 * Math.PI) / 86164.0905;

/** The rotation matrix of an axis and an angle (any textbook on mechanics). */
export function aboutAxis(axis: readonly number[], angle: number): Matrix {
  const size = Math.hypot(...axis);
  const [x, y, z] = axis.map((component) => component / size) as [number, number, number];
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  return [
    [c + x * x * (1 - c), x * y * (1 - c) - z * s, x * z * (1 - c) + y * s],
    [y * x * (1 - c) + z * s, c + y * y * (1 - c), y * z * (1 - c) - x * s],
    [z * x * (1 - c) - y * s, z * y * (1 - c) + x * s, c + z * z * (1 - c)],
  ];
}

export function times(m: Matrix, v: readonly number[]): number[] {
  return m.map((row) => along(row, v));
}

function along(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, component, k) => sum + component * b[k]!, 0);
}

/** The direction of an hour angle (west positive) and a declination, radians: X meridian, Y east, Z north pole. */
function direction(hourAngle: number, declination: number): number[] {
  const c = Math.cos(declination);
  return [c * Math.cos(hourAngle), -c * Math.sin(hourAngle), Math.sin(declination)];
}

/** The mount's axis, as its northern end, from how far its elevated end stands too high and too far east. */
export function axisDirection(latitudeDeg: number, altitudeArcmin: number, eastArcmin: number): number[] {
  const distance = Math.hypot(altitudeArcmin, eastArcmin) / RADIAN_ARCMIN;
  if (distance === 0) return [0, 0, 1];
  const elevated = latitudeDeg >= 0 ? 1 : -1;
  const up = altitudeArcmin / RADIAN_ARCMIN / distance;
  const east = eastArcmin / RADIAN_ARCMIN / distance;
  // From the elevated pole the zenith lies towards +X, in either hemisphere, and east is +Y.
  const end = [Math.sin(distance) * up, Math.sin(distance) * east, elevated * Math.cos(distance)];
  return end.map((component) => component * elevated);
}

/** How far a star goes from the cross-wire, arcseconds, as a camera squared to the mount sees it. */
export function plainDrift(
  latitudeDeg: number,
  pole: { readonly altitude: number; readonly east: number },
  hourAngleDeg: number,
  declinationDeg: number,
  minutes: number,
): { north: number; west: number } {
  const axis = axisDirection(latitudeDeg, pole.altitude, pole.east);
  const star = direction((hourAngleDeg * Math.PI) / 180, (declinationDeg * Math.PI) / 180);
  // The camera's north points to the mount's own pole, its west along the mount's turning.
  const towardsAxis = along(axis, star);
  const north = axis.map((component, k) => component - towardsAxis * star[k]!);
  const size = Math.hypot(...north);
  const northUnit = north.map((component) => component / size);
  const eastUnit = [
    northUnit[1]! * star[2]! - northUnit[2]! * star[1]!,
    northUnit[2]! * star[0]! - northUnit[0]! * star[2]!,
    northUnit[0]! * star[1]! - northUnit[1]! * star[0]!,
  ];
  const turn = -SKY_RADIANS_SECOND * 60 * minutes;
  const camera = aboutAxis(axis, turn);
  const seen = times(aboutAxis([0, 0, 1], turn), star);
  const ahead = along(times(camera, star), seen);
  return {
    north: (along(times(camera, northUnit), seen) / ahead) * RADIAN_ARCSEC,
    west: (-along(times(camera, eastUnit), seen) / ahead) * RADIAN_ARCSEC,
  };
}
