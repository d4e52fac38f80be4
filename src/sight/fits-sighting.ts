/**
 * A solved picture as a sighting: the middle of its exposure, the place of its centre, and the readings from the cards that
 * the mount file names.
 */
import { fault, InputError } from "../errors.js";
import type { AxisReadings, Mount } from "../mount/mount.js";
import type { SightingFields } from "../night/sighting-fields.js";
import type { IcrsPosition } from "../sky/star.js";
import { formatTime, readTime } from "../sky/time.js";
import { type FitsHeader, fitsHeaders, type ReadBytes } from "./fits-header.js";
import { isSolved, type PictureSky, pictureSky } from "./fits-sky.js";

/** A solved picture. */
export interface SolvedPicture {
  readonly file: string;
  /** The middle of the exposure, milliseconds of UTC. */
  readonly timeMs: number;
  /** Where the picture's centre is. */
  readonly centre: IcrsPosition;
  readonly sky: PictureSky;
  /** The readings as they stand in the cards that the mount file names; null without. */
  readonly hourAngle: string | null;
  readonly declination: string | null;
}

/**
 * Reads a solved picture.
 *
 * @param file - its name, for messages
 * @throws InputError with the file and the card: `not-fits`, `fits-cut-short`, `not-solved`, `missing-card`, `wrong-card`
 */
export function readPicture(file: string, read: ReadBytes, mount: Mount): SolvedPicture {
  const headers: FitsHeader[] = [];
  let solved: FitsHeader | undefined;
  for (const header of fitsHeaders(file, read)) {
    headers.push(header);
    if (isSolved(header)) solved = header;
    if (solved !== undefined) break;
  }
  if (solved === undefined) {
    const message = "The picture is not solved: its header does not say where it points.";
    const allowed = "a picture whose header has CTYPE1, CRVAL1, CRPIX1 and so on; solve it first";
    throw new InputError(fault("not-solved", { file, path: "CTYPE1" }, message, allowed));
  }
  /** The solution's own header first, then the first one. */
  const withCard = (...cards: string[]): FitsHeader =>
    [solved, ...headers].find((header) => cards.some((card) => header.has(card))) ?? solved;
  const sky = pictureSky(solved);
  const reading = ({ card }: AxisReadings): string | null =>
    card === undefined ? null : String(withCard(card).value(card) ?? withCard(card).number(card));
  return {
    file,
    timeMs: middleOfExposure(withCard("DATE-OBS"), withCard("EXPTIME", "EXPOSURE", "XPOSURE")),
    centre: sky.at((sky.width + 1) / 2, (sky.height + 1) / 2),
    sky,
    hourAngle: reading(mount.readings.hourAngle),
    declination: reading(mount.readings.declination),
  };
}

function middleOfExposure(dated: FitsHeader, exposed: FitsHeader): number {
  const scale = dated.text("TIMESYS", "UTC").toUpperCase();
  if (scale !== "UTC") {
    throw dated.refusal("TIMESYS", "wrong-card", "The picture's time is of another scale.", "UTC");
  }
  const written = dated.text("DATE-OBS");
  // The standard has no zone in it: the time is UTC.
  const start = readTime(/Z$/i.test(written) ? written : `${written}Z`);
  if (typeof start !== "number") {
    const allowed = "YYYY-MM-DDThh:mm:ss in UTC, with decimals where known";
    throw dated.refusal("DATE-OBS", "wrong-card", "This is not the time when the exposure began.", allowed);
  }
  const card = ["EXPTIME", "EXPOSURE", "XPOSURE"].find((name) => exposed.has(name)) ?? "EXPTIME";
  const seconds = exposed.number(card);
  if (seconds < 0 || seconds > 86_400) {
    throw exposed.refusal(card, "wrong-card", "This is no length of an exposure.", "seconds, 0 to 86400");
  }
  return start + 500 * seconds;
}

/**
 * The fields of the sighting that a picture is.
 *
 * @param group - label of the setting in which the declination axis was locked, for pictures without readings
 * @throws InputError `picture-without-readings` where there is neither a reading nor a group
 */
export function pictureFields(picture: SolvedPicture, group?: string): SightingFields {
  const { file, hourAngle, declination } = picture;
  if (hourAngle === null && declination === null && group === undefined) {
    const message = "The picture has no readings, because the mount file names no cards for them.";
    const allowed =
      "readings.hourAngle.card and readings.declination.card in the mount file; or a group, where the declination axis stayed locked through all these pictures";
    throw new InputError(fault("picture-without-readings", { file, path: "readings" }, message, allowed));
  }
  return {
    time: formatTime(picture.timeMs),
    raDeg: Number(picture.centre.raDeg.toFixed(6)),
    decDeg: Number(picture.centre.decDeg.toFixed(6)),
    ...(hourAngle === null ? {} : { hourAngle }),
    ...(declination === null ? {} : { declination }),
    ...(group === undefined ? {} : { group }),
  };
}
