/**
 * Where a solved picture points: from pixels to the sky by the cards of the world coordinate system. Greisen and Calabretta
 * 2002 (Astronomy and Astrophysics 395, 1061) for CRPIX, CD, PC and CDELT; Calabretta and Greisen 2002 (395, 1077) for the
 * gnomonic projection TAN, equations 2, 14, 15, 54, 55; Shupe and others 2005 (ASP Conference Series 347, 491) for SIP.
 */
import { DEGREE, wrapTurn } from "../angles.js";
import type { IcrsPosition } from "../sky/star.js";
import type { FitsHeader } from "./fits-header.js";

/** A solved picture: where its pixels are on the sky. */
export interface PictureSky {
  /** Pixels along and across. */
  readonly width: number;
  readonly height: number;
  /** A place on the sky; the centre of the first pixel is 1, 1. */
  at(x: number, y: number): IcrsPosition;
}

/** Whether a header has a solution. */
export function isSolved(header: FitsHeader): boolean {
  return header.has("CTYPE1") && header.has("CRVAL1");
}

/**
 * Reads the solution of a picture.
 *
 * @throws InputError with the file and the card
 */
export function pictureSky(header: FitsHeader): PictureSky {
  const types = [header.text("CTYPE1"), header.text("CTYPE2")] as const;
  const isSwapped = types[0].startsWith("DEC-");
  const [ra, dec] = isSwapped ? ([2, 1] as const) : ([1, 2] as const);
  for (const [axis, kind] of [
    [ra, /^RA---TAN(-SIP)?$/],
    [dec, /^DEC--TAN(-SIP)?$/],
  ] as const) {
    if (kind.test(types[axis - 1]!)) continue;
    const message = "The picture's coordinates are of a kind that is not read.";
    throw header.refusal(
      `CTYPE${axis}`,
      "wrong-card",
      message,
      "RA---TAN and DEC--TAN, with or without -SIP",
    );
  }
  refuseOtherFrames(header);
  const pole = { raDeg: header.number(`CRVAL${ra}`), decDeg: header.number(`CRVAL${dec}`) };
  if (Math.abs(pole.decDeg) > 90) {
    throw header.refusal(`CRVAL${dec}`, "wrong-card", "This is no declination.", "degrees from -90 to 90");
  }
  const matrix = linearPart(header);
  const determinant = matrix[0] * matrix[3] - matrix[1] * matrix[2];
  if (determinant === 0) {
    const card = header.has("CD1_1") ? "CD1_1" : "CDELT1";
    throw header.refusal(card, "wrong-card", "The picture has no scale.", "a scale that is not zero");
  }
  const reference = [header.number("CRPIX1"), header.number("CRPIX2")] as const;
  const bend = types[0].endsWith("-SIP") ? distortion(header) : null;
  // The native longitude of the celestial pole: 180° for a projection from its pole, 0° where that is the celestial one.
  const nativePole = header.number("LONPOLE", pole.decDeg >= 90 ? 0 : 180) * DEGREE;
  return {
    width: header.number(header.has("ZNAXIS1") ? "ZNAXIS1" : "NAXIS1"),
    height: header.number(header.has("ZNAXIS2") ? "ZNAXIS2" : "NAXIS2"),
    at(x, y) {
      const straight = [x - reference[0], y - reference[1]] as const;
      const [u, v] = bend === null ? straight : bend(...straight);
      const plane = [matrix[0] * u + matrix[1] * v, matrix[2] * u + matrix[3] * v] as const;
      return fromPlane(plane[ra - 1]! * DEGREE, plane[dec - 1]! * DEGREE, pole, nativePole);
    },
  };
}

/** From the tangent plane to the sky. */
function fromPlane(x: number, y: number, pole: IcrsPosition, nativePole: number): IcrsPosition {
  const turn = Math.atan2(x, -y) - nativePole;
  const theta = Math.atan2(1, Math.hypot(x, y));
  const [sin, cos] = [Math.sin(theta), Math.cos(theta)];
  const [sinPole, cosPole] = [Math.sin(pole.decDeg * DEGREE), Math.cos(pole.decDeg * DEGREE)];
  const along = sin * cosPole - cos * sinPole * Math.cos(turn);
  const across = -cos * Math.sin(turn);
  const up = sin * sinPole + cos * cosPole * Math.cos(turn);
  return {
    raDeg: wrapTurn(pole.raDeg * DEGREE + Math.atan2(across, along)) / DEGREE,
    decDeg: Math.atan2(up, Math.hypot(along, across)) / DEGREE,
  };
}

/** CD, or CDELT with PC, or CDELT with CROTA2: degrees for a pixel. */
function linearPart(header: FitsHeader): readonly [number, number, number, number] {
  if (["CD1_1", "CD1_2", "CD2_1", "CD2_2"].some((card) => header.has(card))) {
    const cd = (card: string): number => header.number(card, 0);
    return [cd("CD1_1"), cd("CD1_2"), cd("CD2_1"), cd("CD2_2")];
  }
  const [along, across] = [header.number("CDELT1"), header.number("CDELT2")];
  if (header.has("CROTA2") && !header.has("PC1_1")) {
    const turn = header.number("CROTA2") * DEGREE;
    const [sin, cos] = [Math.sin(turn), Math.cos(turn)];
    return [along * cos, -across * sin, along * sin, across * cos];
  }
  const pc = (card: string, otherwise: number): number => header.number(card, otherwise);
  return [along * pc("PC1_1", 1), along * pc("PC1_2", 0), across * pc("PC2_1", 0), across * pc("PC2_2", 1)];
}

type Bend = (u: number, v: number) => readonly [number, number];

/** The simple imaging polynomials: what bends the picture, in pixels. */
function distortion(header: FitsHeader): Bend {
  const terms = (axis: "A" | "B"): readonly (readonly [number, number, number])[] => {
    const order = Math.min(9, header.number(`${axis}_ORDER`, 0));
    const found: [number, number, number][] = [];
    for (let p = 0; p <= order; p++) {
      for (let q = 0; q <= order - p; q++) found.push([p, q, header.number(`${axis}_${p}_${q}`, 0)]);
    }
    return found.filter(([, , coefficient]) => coefficient !== 0);
  };
  const [a, b] = [terms("A"), terms("B")];
  const sum = (of: typeof a, u: number, v: number): number =>
    of.reduce((total, [p, q, coefficient]) => total + coefficient * u ** p * v ** q, 0);
  return (u, v) => [u + sum(a, u, v), v + sum(b, u, v)];
}

function refuseOtherFrames(header: FitsHeader): void {
  const frame = header.text("RADESYS", "ICRS").toUpperCase();
  if (frame !== "ICRS" && frame !== "FK5") {
    const message = "The picture's coordinates are in another frame.";
    throw header.refusal("RADESYS", "wrong-card", message, "ICRS, or FK5 of 2000");
  }
  if (header.number("EQUINOX", 2000) !== 2000) {
    const message = "The picture's coordinates are of another equinox.";
    throw header.refusal("EQUINOX", "wrong-card", message, "2000");
  }
  for (const card of ["CUNIT1", "CUNIT2"]) {
    const unit = header.text(card, "deg").toLowerCase();
    if (unit !== "deg" && unit !== "") {
      throw header.refusal(card, "wrong-card", "The picture's coordinates are in another unit.", "deg");
    }
  }
}
