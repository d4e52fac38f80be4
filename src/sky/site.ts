/** A place on Earth, as the mount file gives it. */
export interface Site {
  /** Geodetic latitude, degrees, north positive, −90 to 90. */
  readonly latitude: number;
  /** Longitude, degrees, east positive, −180 to 180. */
  readonly longitude: number;
  /** Height above sea level, metres. */
  readonly heightM: number;
  /** Air pressure at the telescope (not reduced to sea level), hectopascals. */
  readonly pressureHPa: number;
  /** Air temperature, degrees Celsius. */
  readonly temperatureC: number;
  /** UT1 − UTC, seconds; 0 when not known (at most 0.9 s, 13.5″ of hour angle, which the hour-angle zero absorbs). */
  readonly dut1S: number;
  /** The IANA name of the zone that the clocks there keep, for instance `Africa/Johannesburg`; null or absent: UTC. */
  readonly timeZone?: string | null;
}

/** The air that refracts; a pressure of zero means no air. */
export interface Air {
  /** Pressure at the telescope, hectopascals. */
  readonly pressureHPa: number;
  /** Temperature, degrees Celsius. */
  readonly temperatureC: number;
}
