/**
 * A second writing of the mount, by plain matrices in the hour-angle frame, for the tests: axis off by altitude and east
 * (design: rotation by (−σ east, σ altitude, 0)), hour-angle zero off, no other term. Turned to east, north, up.
 */
import { ARCMINUTE, DEGREE } from "../../src/angles.js";

type Row = readonly [number, number, number];

export function createMountModel(
  latitudeDeg: number,
  pole: { readonly altitude: number; readonly east: number },
  hourAngleZeroArcmin: number,
): { pointing(readings: { readonly hourAngle: number; readonly declination: number }): Row } {
  const sign = latitudeDeg < 0 ? -1 : 1;
  const vector: Row = [-sign * pole.east * ARCMINUTE, sign * pole.altitude * ARCMINUTE, 0];
  const angle = Math.hypot(...vector);
  return {
    pointing: ({ hourAngle, declination }) => {
      const h = hourAngle - hourAngleZeroArcmin * ARCMINUTE;
      const m: Row = [
        Math.cos(declination) * Math.cos(h),
        -Math.cos(declination) * Math.sin(h),
        Math.sin(declination),
      ];
      const s = angle === 0 ? m : turned(m, vector.map((part) => part / angle) as unknown as Row, angle);
      const latitude = latitudeDeg * DEGREE;
      return [
        s[1],
        -Math.sin(latitude) * s[0] + Math.cos(latitude) * s[2],
        Math.cos(latitude) * s[0] + Math.sin(latitude) * s[2],
      ];
    },
  };
}

function turned(v: Row, n: Row, angle: number): Row {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const along = (1 - c) * (n[0] * v[0] + n[1] * v[1] + n[2] * v[2]);
  return [
    c * v[0] + s * (n[1] * v[2] - n[2] * v[1]) + along * n[0],
    c * v[1] + s * (n[2] * v[0] - n[0] * v[2]) + along * n[1],
    c * v[2] + s * (n[0] * v[1] - n[1] * v[0]) + along * n[2],
  ];
}
