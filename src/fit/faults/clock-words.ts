/** How faults of clock, zone and site are told, and what corrects them. */
import type { ReducedNight } from "../../night/reduce.js";
import type { Fault, SiteFault } from "../story.js";

export function hoursText(hours: number): string {
  const size = Math.abs(hours);
  return `${Number.isInteger(size) ? size : size.toFixed(1)} ${size === 1 ? "hour" : "hours"}`;
}

export const lateOrEarly = (hours: number): string =>
  `${hoursText(hours)} too ${hours > 0 ? "late" : "early"}`;

const degrees = (value: number): string => `${value < 0 ? "−" : ""}${Math.abs(value)}°`;

/** The wrong entry of the site, with what the file says. */
export function siteText(fault: SiteFault, { mount }: ReducedNight): string {
  const { latitude, longitude } = mount.site;
  if (fault === "longitude-sign")
    return `site.longitude has the wrong sign (east is positive; the file says ${degrees(longitude)})`;
  if (fault === "latitude-sign")
    return `site.latitude has the wrong sign (north is positive; the file says ${degrees(latitude)})`;
  return `site.latitude and site.longitude are exchanged (the file says ${degrees(latitude)} and ${degrees(longitude)})`;
}

function siteRemedy(fault: SiteFault, { mount }: ReducedNight): string {
  const { latitude, longitude } = mount.site;
  if (fault === "longitude-sign") return `Set site.longitude to ${-longitude} and fit again.`;
  if (fault === "latitude-sign") return `Set site.latitude to ${-latitude} and fit again.`;
  return `Set site.latitude to ${longitude} and site.longitude to ${latitude}, then fit again.`;
}

/** What a fault of clock or site is, as the second half of a sentence. */
export function doubtText(fault: Fault, night: ReducedNight): string {
  return fault.kind === "site"
    ? siteText(fault.site, night)
    : fault.kind === "clock"
      ? `the times entered are about ${lateOrEarly(fault.hours)}`
      : "";
}

/** What corrects it. */
export function remedyText(fault: Fault, night: ReducedNight, about: string): string {
  if (fault.kind === "site") return siteRemedy(fault.site, night);
  return fault.kind === "clock" ? timeRemedy(fault.hours, writtenZone(night), about) : "";
}

/** The zones in use (IANA Time Zone Database), hours from UTC. */
const WEST_MOST_ZONE = -12;
const EAST_MOST_ZONE = 14;

function timeRemedy(hours: number, zone: number | null, about: string): string {
  // The clock's figures stay; entered minus true is what the zone lacks.
  const meant = zone === null ? Number.NaN : zone + hours;
  if (zone !== null && meant >= WEST_MOST_ZONE && meant <= EAST_MOST_ZONE) {
    return `Write the times with their zone (${about || "for instance "}${zoneText(meant)} instead of ${zoneText(zone)}) and fit again.`;
  }
  return `Write every time ${about}${hoursText(hours)} ${hours > 0 ? "earlier" : "later"}, or with its true zone, and fit again.`;
}

const ZONE = /(?:Z|([+\-−])(\d{2}):?(\d{2})?)\s*$/i;

/** The zone that the times carry as written, hours; null where they carry several. */
export function writtenZone(night: ReducedNight): number | null {
  let zone: number | null = null;
  for (const { time } of night.sightings) {
    const match = ZONE.exec(time);
    if (match === null) return null;
    const size = Number(match[2] ?? 0) + Number(match[3] ?? 0) / 60;
    const hours = match[1] === undefined || match[1] === "+" || size === 0 ? size : -size;
    if (zone !== null && hours !== zone) return null;
    zone = hours;
  }
  return zone;
}

/** A zone as it is written in the night file. */
function zoneText(hours: number): string {
  const minutes = Math.round(Math.abs(hours) * 60);
  if (minutes === 0) return "Z";
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${hours > 0 ? "+" : "-"}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
