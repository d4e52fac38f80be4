/**
 * The rigorous model of an equatorial mount: where its two axes must stand, and what they then read, for the
 * telescope to look at a given observed direction; and the inverse.
 *
 * Frames. Hour-angle frame (right-handed): X to the meridian at the equator, Y east, Z the north celestial pole,
 * so that a star at hour angle h (west positive) and declination δ is s = (cos δ cos h, −cos δ sin h, sin δ).
 * The mount's own frame is the same frame carried along by the error of the polar axis. H and D are the angles
 * through which the axes are turned: H westward from the meridian, D northward from the equator, D beyond ±90°
 * when the tube is turned over the pole.
 *
 * Derived for this project: see "The model" in DEVELOPERS.md.
 */
import { wrapHalfTurn } from "../angles.js";
import { termNames } from "./terms.js";

/** Index of each built-in term in a coefficient array, in the order of {@link termNames}. */
export const HOUR_ANGLE_ZERO = 0;
export const DECLINATION_ZERO = 1;
export const POLAR_ALTITUDE = 2;
export const POLAR_EAST = 3;
export const CONE = 4;
export const SQUARENESS = 5;
export const TUBE_SAG = 6;
export const RING_SAG = 7;
export const TRUNNION_SAG = 8;
export const HOUR_ANGLE_ECCENTRIC_SIN = 9;
export const HOUR_ANGLE_ECCENTRIC_COS = 10;
export const DECLINATION_ECCENTRIC_SIN = 11;
export const DECLINATION_ECCENTRIC_COS = 12;
export const HOUR_ANGLE_SCALE = 13;
export const DECLINATION_SCALE = 14;
export const HOUR_ANGLE_BACKLASH = 15;
export const DECLINATION_BACKLASH = 16;
/** How many built-in terms there are; a builder's own terms follow them. */
export const BUILT_IN_COUNT = termNames.length;

/** A builder's own term: its effect on each axis per unit of the term. */
export interface CustomEffect {
  readonly hourAngle: CustomExpression;
  readonly declination: CustomExpression;
}

/** The angles, radians, that a builder's expression may use. */
export interface CustomVariables {
  readonly hourAngle: number;
  readonly declination: number;
  readonly altitude: number;
  readonly azimuth: number;
  readonly latitude: number;
}

type CustomExpression = (variables: CustomVariables) => number;

/** How the telescope came to where it points. */
export interface Stance {
  /** The tube is turned over the pole. */
  readonly beyond: boolean;
  /** The last movement was westward (+1), eastward (−1), or not known (0). */
  readonly hourAngleApproach: number;
  /** The last movement was northward (+1), southward (−1), or not known (0). */
  readonly declinationApproach: number;
}

/** The usual stance: normal side, approach not known. */
export const normalStance: Stance = { beyond: false, hourAngleApproach: 0, declinationApproach: 0 };

/** An observed direction as the model needs it, radians. */
export interface ModelDirection {
  readonly hourAngle: number;
  readonly declination: number;
}

/** A mount's behaviour at one latitude. */
export interface MountModel {
  /** Latitude, radians. */
  readonly latitude: number;
  /** Built-in terms and then the builder's own. */
  readonly size: number;
  /**
   * The readings, as angles in radians (not wrapped, zeros included), for an observed direction.
   *
   * @param coefficients - `size` values, radians (scale errors: plain ratios)
   * @param out - receives H and D
   * @param partials - when given, receives ∂H/∂term in its first `size` places and ∂D/∂term in the next `size`
   */
  forward(
    coefficients: Float64Array,
    hourAngle: number,
    declination: number,
    stance: Stance,
    out: Float64Array,
    partials?: Float64Array,
  ): void;
  /**
   * The same for a direction given as a unit vector in the hour-angle frame: for many passes over the same sightings.
   *
   * @param x - to the meridian at the equator
   * @param y - east
   * @param z - north pole
   */
  forwardVector(
    coefficients: Float64Array,
    x: number,
    y: number,
    z: number,
    stance: Stance,
    out: Float64Array,
    partials?: Float64Array,
  ): void;
  /**
   * The cosine of the declination shaft's angle for an observed direction, 0 to 1; −1 where the tube cannot be brought
   * there: with a cone or a squareness error that is a small circle round the mount's own pole.
   */
  shaftCosine(coefficients: Float64Array, hourAngle: number, declination: number): number;
  /**
   * The observed direction at which the telescope points, from its readings: the exact inverse of `forward`.
   *
   * @param hourAngleReading - radians, as `forward` gives it
   * @param declinationReading - radians
   * @param stance - only the approach matters: the side follows from the reading and is returned
   */
  inverse(
    coefficients: Float64Array,
    hourAngleReading: number,
    declinationReading: number,
    stance: Stance,
  ): { readonly hourAngle: number; readonly declination: number; readonly beyond: boolean };
}

const TINY = 1e-12;
/** Cosine of the declination (3.4′ from the mount's pole) below which slopes are cut off. */
const STEEP = 1e-3;

/**
 * Makes the model for a latitude.
 *
 * @param latitude - radians, north positive; its sign says which end of the polar axis is elevated
 * @param custom - the builder's own terms, in the order of their coefficients
 */
export function mountModel(latitude: number, custom: readonly CustomEffect[] = []): MountModel {
  const cosLatitude = Math.cos(latitude);
  const sinLatitude = Math.sin(latitude);
  const elevated = latitude >= 0 ? 1 : -1;
  const size = BUILT_IN_COUNT + custom.length;

  function customVariables(hourAngle: number, declination: number): CustomVariables {
    const cosDeclination = Math.cos(declination);
    const x = cosDeclination * Math.cos(hourAngle);
    const east = -cosDeclination * Math.sin(hourAngle);
    const z = Math.sin(declination);
    const north = -sinLatitude * x + cosLatitude * z;
    const up = cosLatitude * x + sinLatitude * z;
    const azimuth = Math.atan2(east, north);
    return {
      hourAngle: wrapHalfTurn(hourAngle),
      declination,
      altitude: Math.atan2(up, Math.hypot(north, east)),
      azimuth: azimuth < 0 ? azimuth + 2 * Math.PI : azimuth,
      latitude,
    };
  }

  // Functions of the coefficients that most sightings of a night share, kept from one call to the next.
  const kept = {
    wx: Number.NaN,
    wy: Number.NaN,
    sinc: 1,
    cosc: 0.5,
    jacobian: 1 / 6,
    cone: Number.NaN,
    cosCone: 1,
    sinCone: 0,
    squareness: Number.NaN,
    cosSquare: 1,
    sinSquare: 0,
  };

  function shared(coefficients: Float64Array): typeof kept {
    // The error of the polar axis as a rotation vector w = (wx, wy, 0), sin w / w, (1 − cos w) / w² and (w − sin w) / w³.
    const wx = -elevated * coefficients[POLAR_EAST]!;
    const wy = elevated * coefficients[POLAR_ALTITUDE]!;
    if (wx !== kept.wx || wy !== kept.wy) {
      const angleSquared = wx * wx + wy * wy;
      const angle = Math.sqrt(angleSquared);
      const small = angle < 1e-4;
      kept.wx = wx;
      kept.wy = wy;
      kept.sinc = small ? 1 - angleSquared / 6 : Math.sin(angle) / angle;
      kept.cosc = small ? 0.5 - angleSquared / 24 : (1 - Math.cos(angle)) / angleSquared;
      kept.jacobian = small ? 1 / 6 - angleSquared / 120 : (angle - Math.sin(angle)) / (angleSquared * angle);
    }
    const cone = coefficients[CONE]!;
    if (cone !== kept.cone) {
      kept.cone = cone;
      kept.cosCone = Math.cos(cone);
      kept.sinCone = Math.sin(cone);
    }
    const squareness = coefficients[SQUARENESS]!;
    if (squareness !== kept.squareness) {
      kept.squareness = squareness;
      kept.cosSquare = Math.cos(squareness);
      kept.sinSquare = Math.sin(squareness);
    }
    return kept;
  }

  // What `shaftCosine` tells, from the last direction.
  let shaft = 1;
  const unread = new Float64Array(2);
  function shaftCosine(coefficients: Float64Array, hourAngle: number, declination: number): number {
    forward(coefficients, hourAngle, declination, normalStance, unread);
    return shaft;
  }

  function forward(
    coefficients: Float64Array,
    hourAngle: number,
    declination: number,
    stance: Stance,
    out: Float64Array,
    partials?: Float64Array,
  ): void {
    const cosDeclination = Math.cos(declination);
    forwardVector(
      coefficients,
      cosDeclination * Math.cos(hourAngle),
      -cosDeclination * Math.sin(hourAngle),
      Math.sin(declination),
      stance,
      out,
      partials,
    );
  }

  function forwardVector(
    coefficients: Float64Array,
    sx: number,
    sy: number,
    sz: number,
    stance: Stance,
    out: Float64Array,
    partials?: Float64Array,
  ): void {
    const tubeSag = coefficients[TUBE_SAG]!;
    const { wx, wy, sinc, cosc, jacobian, cosCone, sinCone, cosSquare, sinSquare } = shared(coefficients);

    // From the star to the direction in which the unbent tube must point: above the star.
    const up = cosLatitude * sx + sinLatitude * sz;
    const ex = cosLatitude - up * sx;
    const ey = -up * sy;
    const ez = sinLatitude - up * sz;
    const bent = 1 / Math.sqrt(1 + tubeSag * tubeSag * (1 - up * up));
    const tx = (sx + tubeSag * ex) * bent;
    const ty = (sy + tubeSag * ey) * bent;
    const tz = (sz + tubeSag * ez) * bent;

    // Into the mount's frame: m = Rᵀ t, R the rotation by w.
    // w × t and w × (w × t), with w in the XY plane; Rᵀ takes the first with a minus.
    const cx = wy * tz;
    const cy = -wx * tz;
    const cz = wx * ty - wy * tx;
    const mx = tx - sinc * cx + cosc * (wy * cz);
    const my = ty - sinc * cy - cosc * (wx * cz);
    const mz = tz - sinc * cz + cosc * (wx * cy - wy * cx);

    const factor = 1 / (cosCone * cosSquare);
    const sine = (mz + sinCone * sinSquare) * factor;
    const sinD = Math.max(-1, Math.min(1, sine));
    // mz near ±1 loses digits in an arcsine: use the other side of the triangle as well.
    const cosDMagnitude = cosineFromSides(mx, my, sinCone, cosCone, sinSquare, cosSquare, sinD);
    shaft = Math.abs(sine) > 1 + TINY ? -1 : cosDMagnitude;
    const cosD = stance.beyond ? -cosDMagnitude : cosDMagnitude;
    const axisD = Math.atan2(sinD, cosD);
    // Beyond the elevated pole the axis turns on past it: above 90° in the north, below −90° in the south.
    const axisDeclination =
      elevated > 0
        ? axisD < -Math.PI / 2
          ? axisD + 2 * Math.PI
          : axisD
        : axisD > Math.PI / 2
          ? axisD - 2 * Math.PI
          : axisD;
    const px = cosCone * cosD;
    const py = cosSquare * sinCone + sinSquare * cosCone * sinD;
    // The angle from (mx, my) to (px, py).
    const across = py * mx - px * my;
    const along = px * mx + py * my;
    const reach = Math.sqrt(across * across + along * along);
    const axisHourAngle = wrapHalfTurn(Math.atan2(across, along));
    const cosH = reach > 0 ? along / reach : 1;
    const sinH = reach > 0 ? across / reach : 0;

    const safeCosD = Math.abs(cosD) < TINY ? (cosD < 0 ? -TINY : TINY) : cosD;
    const tanD = sinD / safeCosD;
    const trunnionSag = coefficients[TRUNNION_SAG]!;
    const ringSag = coefficients[RING_SAG]!;
    const hourSin = coefficients[HOUR_ANGLE_ECCENTRIC_SIN]!;
    const hourCos = coefficients[HOUR_ANGLE_ECCENTRIC_COS]!;
    const declinationSin = coefficients[DECLINATION_ECCENTRIC_SIN]!;
    const declinationCos = coefficients[DECLINATION_ECCENTRIC_COS]!;
    const hourScale = coefficients[HOUR_ANGLE_SCALE]!;
    const declinationScale = coefficients[DECLINATION_SCALE]!;
    const trunnionShape = cosLatitude * cosH + sinLatitude * tanD;

    let readingH =
      axisHourAngle +
      trunnionSag * trunnionShape +
      hourSin * sinH +
      hourCos * cosH +
      hourScale * axisHourAngle +
      0.5 * coefficients[HOUR_ANGLE_BACKLASH]! * stance.hourAngleApproach +
      coefficients[HOUR_ANGLE_ZERO]!;
    let readingD =
      axisDeclination +
      ringSag * cosH +
      declinationSin * sinD +
      declinationCos * cosD +
      declinationScale * axisDeclination +
      0.5 * coefficients[DECLINATION_BACKLASH]! * stance.declinationApproach +
      coefficients[DECLINATION_ZERO]!;
    let variables: CustomVariables | null = null;
    for (let k = 0; k < custom.length; k++) {
      variables ??= customVariables(Math.atan2(-sy, sx), Math.atan2(sz, Math.sqrt(sx * sx + sy * sy)));
      const effect = custom[k]!;
      const onH = effect.hourAngle(variables);
      const onD = effect.declination(variables);
      const coefficient = coefficients[BUILT_IN_COUNT + k]!;
      readingH += coefficient * onH;
      readingD += coefficient * onD;
      if (partials) {
        partials[BUILT_IN_COUNT + k] = onH;
        partials[size + BUILT_IN_COUNT + k] = onD;
      }
    }
    out[0] = readingH;
    out[1] = readingD;
    if (!partials) return;

    // Partials of the axis angles, then of the readings by the chain rule. Within a few arcminutes of its own pole
    // a mount with a cone error may not reach the star at all: there the slopes are cut off instead of running away.
    const reachable = cosDMagnitude > 0 ? 1 : 0;
    const slopeCosD = Math.abs(cosD) < STEEP ? (cosD < 0 ? -STEEP : STEEP) : cosD;
    const horizontal = 1 / Math.max(TINY * TINY, mx * mx + my * my);
    const plane = 1 / Math.max(TINY * TINY, px * px + py * py);
    const hFromH =
      reachable * (1 - trunnionSag * cosLatitude * sinH + hourSin * cosH - hourCos * sinH + hourScale);
    const hFromD = (reachable * (trunnionSag * sinLatitude)) / (slopeCosD * slopeCosD);
    const dFromD = reachable * (1 + declinationSin * cosD - declinationCos * sinD + declinationScale);
    const dFromH = reachable * (-ringSag * sinH);
    // d(azimuth of p)/dD
    const pFromD = plane * (px * sinSquare * cosCone * cosD + py * cosCone * sinD);
    // D and H of a small turn of m: dD = dFromMz · dmz, dH = pFromD · dD − horizontal · (mx · dmy − my · dmx).
    const dFromMz = factor / slopeCosD;

    // dm = −(J dw) × m with the right Jacobian J = 1 − A [w]× + B [w]×² of the rotation; turn is z of w × dw.
    {
      const turn = wx * elevated;
      const jx = jacobian * (wy * turn);
      const jy = elevated - jacobian * (wx * turn);
      const jz = -cosc * turn;
      const dD = -(jx * my - jy * mx) * dFromMz;
      const dH = pFromD * dD + horizontal * (mx * (jz * mx - jx * mz) - my * (jy * mz - jz * my));
      partials[POLAR_ALTITUDE] = hFromH * dH + hFromD * dD;
      partials[size + POLAR_ALTITUDE] = dFromD * dD + dFromH * dH;
    }
    {
      const turn = wy * elevated;
      const jx = jacobian * (wy * turn) - elevated;
      const jy = -jacobian * (wx * turn);
      const jz = -cosc * turn;
      const dD = -(jx * my - jy * mx) * dFromMz;
      const dH = pFromD * dD + horizontal * (mx * (jz * mx - jx * mz) - my * (jy * mz - jz * my));
      partials[POLAR_EAST] = hFromH * dH + hFromD * dD;
      partials[size + POLAR_EAST] = dFromD * dD + dFromH * dH;
    }
    {
      const lengthening = tx * ex + ty * ey + tz * ez;
      const dtx = (ex - tx * lengthening) * bent;
      const dty = (ey - ty * lengthening) * bent;
      const dtz = (ez - tz * lengthening) * bent;
      const dcx = wy * dtz;
      const dcy = -wx * dtz;
      const dcz = wx * dty - wy * dtx;
      const dmx = dtx - sinc * dcx + cosc * (wy * dcz);
      const dmy = dty - sinc * dcy - cosc * (wx * dcz);
      const dD = (dtz - sinc * dcz + cosc * (wx * dcy - wy * dcx)) * dFromMz;
      const dH = pFromD * dD - horizontal * (mx * dmy - my * dmx);
      partials[TUBE_SAG] = hFromH * dH + hFromD * dD;
      partials[size + TUBE_SAG] = dFromD * dD + dFromH * dH;
    }
    {
      const dD = (cosCone * sinSquare * factor + (sinD * sinCone) / cosCone) / slopeCosD;
      const dH =
        pFromD * dD + plane * (px * (cosSquare * cosCone - sinSquare * sinCone * sinD) + py * sinCone * cosD);
      partials[CONE] = hFromH * dH + hFromD * dD;
      partials[size + CONE] = dFromD * dD + dFromH * dH;
    }
    {
      const dD = (sinCone * cosSquare * factor + (sinD * sinSquare) / cosSquare) / slopeCosD;
      const dH = pFromD * dD + plane * px * (-sinSquare * sinCone + cosSquare * cosCone * sinD);
      partials[SQUARENESS] = hFromH * dH + hFromD * dD;
      partials[size + SQUARENESS] = dFromD * dD + dFromH * dH;
    }

    for (const index of DIRECT_ON_HOUR_ANGLE) partials[size + index] = 0;
    for (const index of DIRECT_ON_DECLINATION) partials[index] = 0;
    partials[HOUR_ANGLE_ZERO] = 1;
    partials[TRUNNION_SAG] = trunnionShape;
    partials[HOUR_ANGLE_ECCENTRIC_SIN] = sinH;
    partials[HOUR_ANGLE_ECCENTRIC_COS] = cosH;
    partials[HOUR_ANGLE_SCALE] = axisHourAngle;
    partials[HOUR_ANGLE_BACKLASH] = 0.5 * stance.hourAngleApproach;
    partials[size + DECLINATION_ZERO] = 1;
    partials[size + RING_SAG] = cosH;
    partials[size + DECLINATION_ECCENTRIC_SIN] = sinD;
    partials[size + DECLINATION_ECCENTRIC_COS] = cosD;
    partials[size + DECLINATION_SCALE] = axisDeclination;
    partials[size + DECLINATION_BACKLASH] = 0.5 * stance.declinationApproach;
  }

  /** Observed direction from the axes' angles, before sags of the ring and trunnions, eccentricity and zeros. */
  function directionOfAxes(coefficients: Float64Array, axisHourAngle: number, axisDeclination: number) {
    const cone = coefficients[CONE]!;
    const squareness = coefficients[SQUARENESS]!;
    const px = Math.cos(cone) * Math.cos(axisDeclination);
    const vy = Math.sin(cone);
    const vz = Math.cos(cone) * Math.sin(axisDeclination);
    const py = vy * Math.cos(squareness) + vz * Math.sin(squareness);
    const mz = -vy * Math.sin(squareness) + vz * Math.cos(squareness);
    const cosH = Math.cos(axisHourAngle);
    const sinH = Math.sin(axisHourAngle);
    const mx = px * cosH + py * sinH;
    const my = -px * sinH + py * cosH;
    const wx = -elevated * coefficients[POLAR_EAST]!;
    const wy = elevated * coefficients[POLAR_ALTITUDE]!;
    const angleSquared = wx * wx + wy * wy;
    const angle = Math.sqrt(angleSquared);
    const small = angle < 1e-4;
    const sinc = small ? 1 - angleSquared / 6 : Math.sin(angle) / angle;
    const cosc = small ? 0.5 - angleSquared / 24 : (1 - Math.cos(angle)) / angleSquared;
    const cx = wy * mz;
    const cy = -wx * mz;
    const cz = wx * my - wy * mx;
    const tx = mx + sinc * cx + cosc * (wy * cz);
    const ty = my + sinc * cy - cosc * (wx * cz);
    const tz = mz + sinc * cz + cosc * (wx * cy - wy * cx);

    // The tube droops in the vertical circle: from z′ = z − atan(tubeSag sin z) back to z.
    const up = cosLatitude * tx + sinLatitude * tz;
    const ex = cosLatitude - up * tx;
    const ey = -up * ty;
    const ez = sinLatitude - up * tz;
    const sinZenith = Math.hypot(ex, ey, ez);
    const droop = zenithDroop(Math.atan2(sinZenith, up), coefficients[TUBE_SAG]!);
    const scaleUp = sinZenith > TINY ? -Math.sin(droop) / sinZenith : 0;
    const cosDroop = Math.cos(droop);
    const sx = tx * cosDroop + ex * scaleUp;
    const sy = ty * cosDroop + ey * scaleUp;
    const sz = tz * cosDroop + ez * scaleUp;
    return {
      hourAngle: Math.atan2(-sy, sx),
      declination: Math.atan2(sz, Math.hypot(sx, sy)),
      beyond: Math.cos(axisDeclination) < 0,
    };
  }

  function inverse(
    coefficients: Float64Array,
    hourAngleReading: number,
    declinationReading: number,
    stance: Stance,
  ) {
    const goalH =
      hourAngleReading -
      coefficients[HOUR_ANGLE_ZERO]! -
      0.5 * coefficients[HOUR_ANGLE_BACKLASH]! * stance.hourAngleApproach;
    const goalD =
      declinationReading -
      coefficients[DECLINATION_ZERO]! -
      0.5 * coefficients[DECLINATION_BACKLASH]! * stance.declinationApproach;
    let customH = 0;
    let customD = 0;
    let direction = { hourAngle: 0, declination: 0, beyond: false };
    const rounds = custom.length > 0 ? 30 : 1;
    for (let round = 0; round < rounds; round++) {
      const axes = axesFromReadings(coefficients, goalH - customH, goalD - customD, latitude);
      direction = directionOfAxes(coefficients, axes.hourAngle, axes.declination);
      if (custom.length === 0) break;
      // A builder's own term depends on the direction itself: small, so repeat until it stands still.
      const variables = customVariables(direction.hourAngle, direction.declination);
      let nextH = 0;
      let nextD = 0;
      for (let k = 0; k < custom.length; k++) {
        nextH += coefficients[BUILT_IN_COUNT + k]! * custom[k]!.hourAngle(variables);
        nextD += coefficients[BUILT_IN_COUNT + k]! * custom[k]!.declination(variables);
      }
      const change = Math.abs(nextH - customH) + Math.abs(nextD - customD);
      customH = nextH;
      customD = nextD;
      if (change < 1e-15) break;
    }
    return direction;
  }

  return { latitude, size, forward, forwardVector, shaftCosine, inverse };
}

const DIRECT_ON_HOUR_ANGLE = [
  HOUR_ANGLE_ZERO,
  TRUNNION_SAG,
  HOUR_ANGLE_ECCENTRIC_SIN,
  HOUR_ANGLE_ECCENTRIC_COS,
  HOUR_ANGLE_SCALE,
  HOUR_ANGLE_BACKLASH,
];
const DIRECT_ON_DECLINATION = [
  DECLINATION_ZERO,
  RING_SAG,
  DECLINATION_ECCENTRIC_SIN,
  DECLINATION_ECCENTRIC_COS,
  DECLINATION_SCALE,
  DECLINATION_BACKLASH,
];

/**
 * |cos D| to full accuracy near the pole, where √(1 − sin²D) would lose half the digits: the part of m at right
 * angles to the mount's pole is √((cos c cos D)² + p_y²), and p_y is known from sin D.
 */
function cosineFromSides(
  mx: number,
  my: number,
  sinCone: number,
  cosCone: number,
  sinSquare: number,
  cosSquare: number,
  sinD: number,
): number {
  const py = cosSquare * sinCone + sinSquare * cosCone * sinD;
  const square = mx * mx + my * my - py * py;
  return square > 0 ? Math.sqrt(square) / cosCone : 0;
}

/** How far the tube droops at a true zenith distance z such that z − atan(sag · sin z) is the given one. */
function zenithDroop(unbentZenithDistance: number, sag: number): number {
  let z = unbentZenithDistance;
  for (let k = 0; k < 20; k++) {
    const shift = sag * Math.sin(z);
    const error = z - Math.atan(shift) - unbentZenithDistance;
    const step = error / (1 - (sag * Math.cos(z)) / (1 + shift * shift));
    z -= step;
    if (Math.abs(step) < 1e-16) break;
  }
  return z - unbentZenithDistance;
}

/** Takes ring and trunnion sag, eccentricity and scale off the readings: Newton on both angles at once. */
function axesFromReadings(
  coefficients: Float64Array,
  goalH: number,
  goalD: number,
  latitude: number,
): { hourAngle: number; declination: number } {
  const cosLatitude = Math.cos(latitude);
  const sinLatitude = Math.sin(latitude);
  const middleD = latitude >= 0 ? Math.PI / 2 : -Math.PI / 2;
  const trunnionSag = coefficients[TRUNNION_SAG]!;
  const ringSag = coefficients[RING_SAG]!;
  const hourSin = coefficients[HOUR_ANGLE_ECCENTRIC_SIN]!;
  const hourCos = coefficients[HOUR_ANGLE_ECCENTRIC_COS]!;
  const declinationSin = coefficients[DECLINATION_ECCENTRIC_SIN]!;
  const declinationCos = coefficients[DECLINATION_ECCENTRIC_COS]!;
  const hourScale = coefficients[HOUR_ANGLE_SCALE]!;
  const declinationScale = coefficients[DECLINATION_SCALE]!;
  // The scale terms act on the wrapped angle, so a reading is first brought near the range of the axis.
  const nearH = wrapHalfTurn(goalH);
  const nearD = goalD - 2 * Math.PI * Math.round((goalD - middleD) / (2 * Math.PI));
  let h = nearH / (1 + hourScale);
  let d = nearD / (1 + declinationScale);
  for (let k = 0; k < 50; k++) {
    const cosH = Math.cos(h);
    const sinH = Math.sin(h);
    const cosD = Math.cos(d);
    const sinD = Math.sin(d);
    const safeCosD = Math.abs(cosD) < TINY ? (cosD < 0 ? -TINY : TINY) : cosD;
    const errorH =
      h +
      trunnionSag * (cosLatitude * cosH + (sinLatitude * sinD) / safeCosD) +
      hourSin * sinH +
      hourCos * cosH +
      hourScale * h -
      nearH;
    const errorD =
      d + ringSag * cosH + declinationSin * sinD + declinationCos * cosD + declinationScale * d - nearD;
    const hh = 1 - trunnionSag * cosLatitude * sinH + hourSin * cosH - hourCos * sinH + hourScale;
    const hd = (trunnionSag * sinLatitude) / (safeCosD * safeCosD);
    const dd = 1 + declinationSin * cosD - declinationCos * sinD + declinationScale;
    const dh = -ringSag * sinH;
    const determinant = hh * dd - hd * dh;
    const stepH = (errorH * dd - hd * errorD) / determinant;
    const stepD = (hh * errorD - dh * errorH) / determinant;
    h -= stepH;
    d -= stepD;
    if (Math.abs(stepH) + Math.abs(stepD) < 1e-15) break;
  }
  return { hourAngle: h, declination: d };
}
