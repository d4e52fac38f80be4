/** The zeros in force: those that the page was made with, or those that a star set since. */
import { checkStar, type StarCheck } from "../../../keep/check-star.js";
import { standingTonight } from "../../../keep/tonight.js";
import type { Mount } from "../../../mount/mount.js";
import { readNight } from "../../../night/night-file.js";
import type { Sighting } from "../../../night/sighting.js";
import { type MountStanding, unsightedMount } from "../../../pointing/known-mount.js";
import { formatTime } from "../../../sky/time.js";
import { csvField } from "../../../tables/csv-lines.js";
import type { EnteredSighting } from "./state.js";

const COLUMNS = "time,star,raDeg,decDeg,hourAngle,declination,side,zeroSet,use,note";

/** The label of a set of zeros in the night file. */
function setLabel(zeroSet: number): string {
  return zeroSet === 0 ? "as before" : `desk ${zeroSet}`;
}

function csvRow(one: EnteredSighting): string {
  return [
    formatTime(one.timeMs),
    one.star,
    one.raDeg === null ? "" : one.raDeg.toFixed(5),
    one.decDeg === null ? "" : one.decDeg.toFixed(5),
    one.hourAngle,
    one.declination,
    one.beyond ? "beyond" : "normal",
    setLabel(one.zeroSet),
    one.use ? "yes" : "no",
    one.note,
  ]
    .map((field) => csvField(field))
    .join(",");
}

/** The sightings as a night file. */
export function nightText(sightings: readonly EnteredSighting[], mount: Mount): string {
  const head = `# Entered at the desk of ${mount.name.replace(/[\r\n]+/g, " ")}.`;
  return `${head}\n${[COLUMNS, ...sightings.map(csvRow)].join("\n")}\n`;
}

/**
 * A sighting as the library has it.
 *
 * @throws InputError with every fault of it
 */
export function sightingOf(one: EnteredSighting, mount: Mount): Sighting {
  return readNight(nightText([one], mount), mount).night.sightings[0]!;
}

/** What is known before any star: the tolerances alone. */
function unsightedStanding(mount: Mount): MountStanding {
  const { names, covariance } = unsightedMount(mount);
  const size = names.length;
  return {
    mount,
    terms: names.map((name) => ({ name, set: null, value: 0 })),
    covariance: names.map((_, i) => Array.from(covariance.subarray(i * size, (i + 1) * size))),
  };
}

/** The standing in force. */
export interface Zeros {
  /** Null where neither sightings nor a kept model stand behind the readings, and no star has set the zeros. */
  readonly standing: MountStanding | null;
  /** How many times the zeros were set here. */
  readonly zeroSet: number;
  /** The sighting that set them last; null where they are those that the page was made with. */
  readonly setBy: EnteredSighting | null;
}

/** The zeros in force after the sightings entered so far. */
export function zerosInForce(
  base: MountStanding | null,
  mount: Mount,
  sightings: readonly EnteredSighting[],
): Zeros {
  const zeroSet = sightings.reduce((most, one) => Math.max(most, one.use ? one.zeroSet : 0), 0);
  const setBy = sightings.findLast((one) => one.use && one.setsZeros && one.zeroSet === zeroSet) ?? null;
  if (zeroSet === 0 || setBy === null) return { standing: base, zeroSet: 0, setBy: null };
  const night = { mount, sightings: [sightingOf(setBy, mount)] };
  return { standing: standingTonight(base ?? unsightedStanding(mount), night), zeroSet, setBy };
}

/** How a sighting agrees with what is in force; null where nothing is known that it could be held against. */
export function checked(zeros: Zeros, one: EnteredSighting, mount: Mount): StarCheck | null {
  if (zeros.standing === null) return null;
  return checkStar({ ...zeros.standing, mount }, sightingOf(one, mount));
}

/** By how much the zeros of one standing differ from another's, arcminutes. */
export function zeroShift(
  from: MountStanding | null,
  to: MountStanding | null,
): { readonly hourAngle: number; readonly declination: number } | null {
  if (from === null || to === null) return null;
  const zero = (standing: MountStanding, name: string): number =>
    standing.terms.findLast((term) => term.name === name)?.value ?? 0;
  const shift = (name: string): number => zero(to, name) - zero(from, name);
  return { hourAngle: shift("hourAngleZero"), declination: shift("declinationZero") };
}
