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
import { type DirectEffect, type ShaftState, termNames, termPlace, termRecords } from "./terms.js";

/** Place of the terms in a coefficient array that act on more than a reading. */
export const HOUR_ANGLE_ZERO = termPlace("hourAngleZero");
export const DECLINATION_ZERO = termPlace("declinationZero");
export const POLAR_ALTITUDE = termPlace("polarAltitude");
export const POLAR_EAST = termPlace("polarEast");
export const CONE = termPlace("cone");
export const SQUARENESS = termPlace("squareness");
export const TUBE_SAG = termPlace("tubeSag");
const POLAR_ALTITUDE_RATE = termPlace("polarAltitudeRate");
const POLAR_EAST_RATE = termPlace("polarEastRate");
/** How many built-in terms there are; a builder's own terms follow them. */
export const BUILT_IN_COUNT = termNames.length;

/** The terms that are added to a reading, with their places. */
const directTerms = termNames.flatMap(
  (name, place): { place: number; act: DirectEffect; onHour: boolean }[] => {
    const act = termRecords[name].direct;
    return act === undefined ? [] : [{ place, act, onHour: act.axis === "hourAngle" }];
  },
);
/** Of these, those whose effect varies with the shafts' angles. */
const varyingTerms = directTerms.filter(
  ({ act }) => act.byHourAngle !== undefined || act.byDeclination !== undefined,
);

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
  /** How far the night had gone: −1 at its first sighting, 0 at its last and after; default 0. */
  readonly progress?: number;
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
  ): ModelDirection & {
    /** Which side of the mount the tube is on. */
    readonly beyond: boolean;
    /** False where no direction was found that gives these readings: terms too large, or the mount's own pole. */
    readonly settled: boolean;
  };
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

  function shared(coefficients: Float64Array, progress: number): typeof kept {
    // The error of the polar axis as a rotation vector w = (wx, wy, 0), sin w / w, (1 − cos w) / w² and (w − sin w) / w³.
    const wx = -elevated * (coefficients[POLAR_EAST]! + progress * coefficients[POLAR_EAST_RATE]!);
    const wy = elevated * (coefficients[POLAR_ALTITUDE]! + progress * coefficients[POLAR_ALTITUDE_RATE]!);
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

  const shafts: ShaftState = {
    hourAngle: 0,
    declination: 0,
    sinHourAngle: 0,
    cosHourAngle: 1,
    sinDeclination: 0,
    cosDeclination: 1,
    tanDeclination: 0,
    cosLatitude,
    sinLatitude,
    hourAngleApproach: 0,
    declinationApproach: 0,
    progress: 0,
  };

  // What `shaftCosine` tells, from the last direction.
  let shaft = 1;
  const unread = new Float64Array(2);
  function shaftCosine(coefficients: Float64Array, hourAngle: number, declination: number): number {
    forward(coefficients, hourAngle, declination, normalStance, unread);
    return shaft;
  }

  const forward: MountModel["forward"] = (coefficients, hourAngle, declination, stance, out, partials) => {
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
  };

  const forwardVector: MountModel["forwardVector"] = (coefficients, sx, sy, sz, stance, out, partials) => {
    const tubeSag = coefficients[TUBE_SAG]!;
    const progress = stance.progress ?? 0;
    const { wx, wy, sinc, cosc, jacobian, cosCone, sinCone, cosSquare, sinSquare } = shared(
      coefficients,
      progress,
    );

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
    const at = shafts;
    at.hourAngle = axisHourAngle;
    at.declination = axisDeclination;
    at.sinHourAngle = sinH;
    at.cosHourAngle = cosH;
    at.sinDeclination = sinD;
    at.cosDeclination = cosD;
    at.tanDeclination = sinD / safeCosD;
    at.hourAngleApproach = stance.hourAngleApproach;
    at.declinationApproach = stance.declinationApproach;
    at.progress = progress;
    let readingH = axisHourAngle;
    let readingD = axisDeclination;
    for (const { place, act, onHour } of directTerms) {
      const coefficient = coefficients[place]!;
      if (coefficient === 0 && !partials) continue;
      const effect = act.effect(at);
      if (onHour) readingH += coefficient * effect;
      else readingD += coefficient * effect;
      if (partials) {
        partials[place] = onHour ? effect : 0;
        partials[size + place] = onHour ? 0 : effect;
      }
    }
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
    let hFromH = reachable;
    let hFromD = 0;
    let dFromD = reachable;
    let dFromH = 0;
    at.tanDeclination = sinD / slopeCosD;
    for (const { place, act, onHour } of varyingTerms) {
      const coefficient = reachable * coefficients[place]!;
      if (coefficient === 0) continue;
      const byH = coefficient * (act.byHourAngle?.(at) ?? 0);
      const byD = coefficient * (act.byDeclination?.(at) ?? 0);
      if (onHour) {
        hFromH += byH;
        hFromD += byD;
      } else {
        dFromH += byH;
        dFromD += byD;
      }
    }
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

    for (const [rate, term] of RATES) {
      partials[rate] = progress * partials[term]!;
      partials[size + rate] = progress * partials[size + term]!;
    }
  };

  /** Observed direction from the axes' angles, before sags of the ring and trunnions, eccentricity and zeros. */
  function directionOfAxes(
    coefficients: Float64Array,
    axisHourAngle: number,
    axisDeclination: number,
    progress: number,
  ) {
    const { wx, wy, sinc, cosc } = shared(coefficients, progress);
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
    let customH = 0;
    let customD = 0;
    const progress = stance.progress ?? 0;
    for (let round = 0; ; round++) {
      const axes = axesFromReadings(
        coefficients,
        hourAngleReading - customH,
        declinationReading - customD,
        stance,
      );
      const direction = directionOfAxes(coefficients, axes.hourAngle, axes.declination, progress);
      if (custom.length === 0) return { ...direction, settled: axes.settled };
      // A builder's own term depends on the direction itself: small, so repeat until it stands still.
      const variables = customVariables(direction.hourAngle, direction.declination);
      let nextH = 0;
      let nextD = 0;
      for (let k = 0; k < custom.length; k++) {
        nextH += coefficients[BUILT_IN_COUNT + k]! * custom[k]!.hourAngle(variables);
        nextD += coefficients[BUILT_IN_COUNT + k]! * custom[k]!.declination(variables);
      }
      const change = Math.abs(nextH - customH) + Math.abs(nextD - customD);
      if (change < 1e-15 || round === CUSTOM_ROUNDS) {
        return { ...direction, settled: axes.settled && change < SETTLED };
      }
      customH = nextH;
      customD = nextD;
    }
  }

  /** Takes off the readings what is added to them: Newton on both angles at once. */
  function axesFromReadings(
    coefficients: Float64Array,
    hourAngleReading: number,
    declinationReading: number,
    stance: Stance,
  ): { hourAngle: number; declination: number; settled: boolean } {
    const middleD = elevated * (Math.PI / 2);
    const goalH = wrapHalfTurn(hourAngleReading - coefficients[HOUR_ANGLE_ZERO]!);
    const freeD = declinationReading - coefficients[DECLINATION_ZERO]!;
    const goalD = freeD - 2 * Math.PI * Math.round((freeD - middleD) / (2 * Math.PI));
    const at = shafts;
    at.hourAngleApproach = stance.hourAngleApproach;
    at.declinationApproach = stance.declinationApproach;
    at.progress = stance.progress ?? 0;
    let h = goalH;
    let d = goalD;
    let moved = 0;
    for (let k = 0; k < 50; k++) {
      at.hourAngle = h;
      at.declination = d;
      at.sinHourAngle = Math.sin(h);
      at.cosHourAngle = Math.cos(h);
      at.sinDeclination = Math.sin(d);
      const cosD = Math.cos(d);
      at.cosDeclination = cosD;
      at.tanDeclination = at.sinDeclination / (Math.abs(cosD) < TINY ? (cosD < 0 ? -TINY : TINY) : cosD);
      let errorH = h - goalH;
      let errorD = d - goalD;
      let hh = 1;
      let hd = 0;
      let dh = 0;
      let dd = 1;
      for (const { place, act, onHour } of directTerms) {
        const coefficient = coefficients[place]!;
        if (coefficient === 0 || place === HOUR_ANGLE_ZERO || place === DECLINATION_ZERO) continue;
        const effect = coefficient * act.effect(at);
        const byH = coefficient * (act.byHourAngle?.(at) ?? 0);
        const byD = coefficient * (act.byDeclination?.(at) ?? 0);
        if (onHour) {
          errorH += effect;
          hh += byH;
          hd += byD;
        } else {
          errorD += effect;
          dh += byH;
          dd += byD;
        }
      }
      const determinant = hh * dd - hd * dh;
      const stepH = (errorH * dd - hd * errorD) / determinant;
      const stepD = (hh * errorD - dh * errorH) / determinant;
      h -= stepH;
      d -= stepD;
      moved = Math.abs(stepH) + Math.abs(stepD);
      if (moved < 1e-15) break;
    }
    return { hourAngle: h, declination: d, settled: moved < SETTLED };
  }

  return { latitude, size, forward, forwardVector, shaftCosine, inverse };
}

/** The rate of each polar term and the term. */
const RATES = [
  [POLAR_ALTITUDE_RATE, POLAR_ALTITUDE],
  [POLAR_EAST_RATE, POLAR_EAST],
] as const;
/** Rounds for a builder's own terms, which are small: each round wins digits. */
const CUSTOM_ROUNDS = 30;
/** An inverse whose last step was smaller has settled, radians. */
const SETTLED = 1e-9;

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
