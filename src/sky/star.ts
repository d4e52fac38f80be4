/** A place among the stars: ICRS, epoch J2000.0, with its motion where known. */
export interface IcrsPosition {
  /** Right ascension, degrees. */
  readonly raDeg: number;
  /** Declination, degrees. */
  readonly decDeg: number;
  /** Proper motion in right ascension times cos δ, milliarcseconds a Julian year. */
  readonly pmRaCosDecMasYr?: number;
  /** Proper motion in declination, milliarcseconds a Julian year. */
  readonly pmDecMasYr?: number;
  /** Parallax, milliarcseconds. */
  readonly parallaxMas?: number;
  /** Radial velocity, kilometres a second, receding positive. */
  readonly radialVelocityKmS?: number;
}

/** A star of the catalogue. */
export interface Star extends Required<IcrsPosition> {
  /** Hipparcos number. */
  readonly hip: number;
  /** The name approved by the IAU, or an empty string. */
  readonly name: string;
  /** Bayer designation with Greek letter and constellation, for instance `α Cen`, or an empty string. */
  readonly bayer: string;
  /** Flamsteed designation, for instance `16 Boo`, or an empty string. */
  readonly flamsteed: string;
  /** IAU constellation abbreviation. */
  readonly constellation: string;
  /** Visual magnitude; of a variable star its maximum. */
  readonly vMag: number;
  /** How the star is shown: its name, else its Bayer or Flamsteed designation, else `HIP` and number. */
  readonly label: string;
}

/** Where a star is seen from a site: refraction included, radians. */
export interface ObservedDirection {
  /** Hour angle, west positive, (−π, π]. */
  readonly hourAngle: number;
  /** Declination, north positive. */
  readonly declination: number;
  /** Azimuth, from north through east, [0, 2π). */
  readonly azimuth: number;
  /** Altitude above the horizon. */
  readonly altitude: number;
}
