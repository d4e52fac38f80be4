/**
 * The field of view: of a camera or of an eyepiece.
 */
import { ARCSECOND, DEGREE } from "../angles.js";
import { type Fault, InputError, shown } from "../errors.js";
import type { Camera } from "../mount/mount.js";
import type { FieldPlace } from "./field-track.js";

/** A field of view. */
export interface ImageField {
  readonly kind: "camera" | "eyepiece";
  /** East to west, degrees. */
  readonly widthDeg: number;
  /** North to south, degrees. */
  readonly heightDeg: number;
  /** A pixel, arcseconds; null for an eyepiece. */
  readonly pixelArcsec: number | null;
}

/** The unit in which a smear is given: pixels for a camera, arcseconds for an eyepiece. */
export type SmearUnit = "px" | "arcsec";

/**
 * The field of a camera in the focus, its long or first side laid east to west.
 *
 * @example
 * ```ts
 * fieldOfCamera({ focalLengthMm: 1800, widthMm: 7.2, heightMm: 5.4, pixelUm: 8.6 }).pixelArcsec; // 0.985
 * ```
 */
export function fieldOfCamera(camera: Camera): ImageField {
  const { focalLengthMm, widthMm, heightMm, pixelUm } = camera;
  const side = (mm: number): number => (2 * Math.atan(mm / 2 / focalLengthMm)) / DEGREE;
  return {
    kind: "camera",
    widthDeg: side(widthMm),
    heightDeg: side(heightMm),
    pixelArcsec: pixelUm / 1000 / focalLengthMm / ARCSECOND,
  };
}

/**
 * The round field of an eyepiece.
 *
 * @param fieldDeg - its diameter on the sky, degrees
 * @throws {@link InputError} `field-out-of-range`
 * @example
 * ```ts
 * fieldOfEyepiece(0.5).widthDeg // 0.5
 * ```
 */
export function fieldOfEyepiece(fieldDeg: number): ImageField {
  if (!(fieldDeg > 0 && fieldDeg <= 90)) throw new InputError(fieldFault("fieldDeg", fieldDeg));
  return { kind: "eyepiece", widthDeg: fieldDeg, heightDeg: fieldDeg, pixelArcsec: null };
}

function fieldFault(path: string, found: unknown): Fault {
  return {
    code: "field-out-of-range",
    path,
    found: shown(found),
    allowed: "degrees on the sky, more than 0 and at most 90",
    message: "The field of view has no usable size.",
  };
}

/** Refuses a field without a usable size. */
export function checkField(field: ImageField): void {
  const faults: Fault[] = [];
  for (const key of ["widthDeg", "heightDeg"] as const) {
    if (!(field[key] > 0 && field[key] <= 90)) faults.push(fieldFault(`field.${key}`, field[key]));
  }
  if (field.pixelArcsec !== null && !(field.pixelArcsec > 0 && Number.isFinite(field.pixelArcsec))) {
    faults.push({
      code: "pixel-out-of-range",
      path: "field.pixelArcsec",
      found: shown(field.pixelArcsec),
      allowed: "more than 0 arcseconds, or null for an eyepiece",
      message: "The pixel has no usable size.",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
}

/** The unit in which a smear over this field is given. */
export function smearUnit(field: ImageField): SmearUnit {
  return field.pixelArcsec === null ? "arcsec" : "px";
}

/** A smear, from tangents of angles to the field's own unit. */
export function inSmearUnit(field: ImageField, tangent: number): number {
  return tangent / ARCSECOND / (field.pixelArcsec ?? 1);
}

/** The places at the rim that are followed: the corners of a camera, four points on an eyepiece's rim. */
export function rimPlaces(field: ImageField): FieldPlace[] {
  const east = Math.tan((field.widthDeg / 2) * DEGREE);
  const north = Math.tan((field.heightDeg / 2) * DEGREE);
  return field.kind === "camera"
    ? [
        { east, north },
        { east: -east, north },
        { east: -east, north: -north },
        { east, north: -north },
      ]
    : [
        { east, north: 0 },
        { east: 0, north },
        { east: -east, north: 0 },
        { east: 0, north: -north },
      ];
}

/** How far from the middle a target may be and still be seen, whichever way: half the shorter side, arcminutes. */
export function halfFieldArcmin(field: ImageField): number {
  return 30 * Math.min(field.widthDeg, field.heightDeg);
}
