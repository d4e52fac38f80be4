import { ARCMINUTE } from "../angles.js";
import { InputError, shown } from "../errors.js";
import type { MountFit, TermEstimate } from "../fit/fit-result.js";
import { didYouMean } from "../mount/did-you-mean.js";
import type { Mount } from "../mount/mount.js";
import {
  type BuiltInTermName,
  type TermName,
  termDescriptions,
  termNames,
  turningTerms,
} from "../mount/terms.js";
import { arcminText, estimateText, fixed } from "../words/numbers.js";
import { capital } from "./fit-report.js";
import { type Block, block, type Report } from "./report.js";

/** What is said of a term whatever its value. */
interface Explanation {
  /** What it is, mechanically. */
  readonly is: string;
  /** How it shows in the readings and in the residuals. */
  readonly shows: string;
  /** How it is mended at the mount, or why it need not be. */
  readonly mend: string;
  /** What is to be done for a value, on a mount; null where the general words say it all. */
  readonly amount?: (arcmin: number, mount: Mount) => string | null;
}

const explanations: Readonly<Record<BuiltInTermName, Explanation>> = {
  hourAngleZero: {
    is: "What the hour-angle encoder or dial reads when the telescope truly points to the meridian. It is set by where the encoder stood when it was switched on; no part of the mount is wrong.",
    shows:
      "Every hour-angle reading is off by the same amount, all over the sky. A clock that is wrong shows the same: one second of time is a quarter of an arcminute, four minutes are a degree.",
    mend: "Leave it: the fit takes it out. If it is a whole or half number of hours, look at the clock, the time zone and the sign of the longitude. An encoder with an index mark keeps its zero from night to night.",
    amount: (arcmin) =>
      `Subtract ${arcminText(arcmin)} from the hour-angle readings, as angles, and they are true but for the other terms.`,
  },
  declinationZero: {
    is: "What the declination encoder or circle reads when the telescope truly points to the celestial equator. It is set by where the encoder stood when it was switched on, or by where the circle was clamped.",
    shows: "Every declination reading is off by the same amount, all over the sky.",
    mend: "Leave it: the fit takes it out. A circle can be slackened, turned by this amount and clamped again.",
    amount: (arcmin) =>
      `Subtract ${arcminText(arcmin)} from the declination readings, as angles, and they are true but for the other terms.`,
  },
  polarAltitude: {
    is: "The upper end of the polar axis points above the celestial pole (positive) or below it (negative).",
    shows:
      "Declination readings are off one way on the meridian, not at all six hours from it, and the other way below the pole. Hour-angle readings are off six hours east and west of the meridian, in opposite ways, the more the nearer the star is to the pole. Tracked stars in the east and in the west drift north or south.",
    mend: "Tilt the whole base about its east–west line. Too high: lower the end of the base under the upper end of the axis or raise the other end. The turns for each jack come from jackTurns.",
    amount: (arcmin, mount) => tiltText(arcmin, mount),
  },
  polarEast: {
    is: "The upper end of the polar axis points east of the celestial pole (positive) or west of it (negative), measured on the sky.",
    shows:
      "Declination readings are off six hours from the meridian, in opposite ways east and west, and right on the meridian. Hour-angle readings near the meridian are off the more the nearer the star is to the pole. Tracked stars on the meridian drift north or south.",
    mend: "Turn the base about the vertical with its azimuth bolts or by sliding one end. Where it cannot be turned, tilt it a little sideways on its jacks. jackTurns weighs which serves.",
    amount: (arcmin, mount) => {
      const cosLatitude = Math.cos((mount.site.latitude * Math.PI) / 180);
      if (cosLatitude < 1e-6) return "At the pole itself there is no east or west to turn to.";
      const azimuth = arcmin / cosLatitude;
      const lever = mount.base?.azimuthBolts?.leverMm ?? 1000;
      const where = mount.base?.azimuthBolts
        ? "of travel at your azimuth bolts"
        : "at one metre from the pivot";
      return `In azimuth that is ${arcminText(Math.abs(azimuth))}: the upper end of the axis must go ${arcmin < 0 ? "east" : "west"} by that, ${fixed(lever * Math.tan(Math.abs(azimuth) * ARCMINUTE), 1)} mm ${where}.`;
    },
  },
  cone: {
    is: "The optical axis is not square to the declination axis, so that it sweeps a flat cone and not a plane when the tube turns. Positive: with the tube on the meridian, on its normal side, it leans to the east.",
    shows:
      "Hour-angle readings are off the same way everywhere, as an angle on the sky by the same amount. So the reading itself is off the more the nearer the star is to the pole. Beyond the pole (tube turned over) it goes the other way. Together with axis squareness it is distinguished from the hour-angle zero by stars at several declinations.",
    mend: "Square the optics first: a collimation that is off leans the optical axis just so. Then shift one tube ring sideways, or put a shim under it. The tube itself need not be straight to the rings; only where the camera looks counts.",
    amount: (arcmin, mount) => coneShim(arcmin, mount),
  },
  squareness: {
    is: "The declination axis is not square to the polar axis. Positive: with the tube on the meridian, on its normal side, the east end of the declination axis leans towards the south.",
    shows:
      "Hour-angle readings are off by an amount that grows with the tangent of the declination. It is nothing at the equator, one way north of it, the other way south of it, the same at every hour angle.",
    mend: "Shim one bearing of the declination axis (one trunnion), so that the axis stands square to the polar axis.",
    amount: (arcmin, mount) => squarenessShim(arcmin, mount),
  },
  tubeSag: {
    is: "The tube, its truss, or the mirror in its cell gives under its own weight. The telescope then looks a little lower than its axes say. Positive: it droops. It is nothing at the zenith and full at the horizon.",
    shows:
      "Readings stand above the star, towards the zenith, by an amount that grows with the sine of the distance from the zenith. Low stars all round show it best.",
    mend: "Look for what is loose: mirror sling and clips, spider vanes, truss joints, rings, the camera's drawtube. A sag that stays the same from night to night can be left to the model. A negative value says that something lifts: a heavy tail, or a mirror that slides on its edge supports.",
  },
  ringSag: {
    is: "The polar frame (the split ring on its rollers, the fork or the yoke) gives or is not quite round. The declination reading then changes with hour angle. Positive: it reads north on the meridian.",
    shows:
      "Declination readings are off by an amount that goes with the cosine of the hour angle, the same at every declination.",
    mend: "Look at rollers that are not parallel to the axis and at a ring that is out of round. Look for play in the thrust bearing and for fork arms that bend. Measure the ring's run-out with a dial gauge while the frame turns. If it stays the same, leave it to the model.",
  },
  trunnionSag: {
    is: "The declination axis gives sideways under the tube's weight: trunnions, their blocks, or the frame's sides. Positive: hour-angle readings stand west.",
    shows:
      "The telescope is off to the west or east by an amount that goes with the sine of the altitude. It is full overhead, and nothing at the horizon.",
    mend: "Look for a trunnion with play, a block that rocks, or a tube that leans out of balance. Check with a dial gauge on each trunnion while a helper turns the frame, drive power off. If it stays the same, leave it to the model.",
  },
  hourAngleEccentricSin: eccentric("hour-angle", "six hours from the meridian"),
  hourAngleEccentricCos: eccentric("hour-angle", "on the meridian"),
  declinationEccentricSin: eccentric("declination", "towards the poles"),
  declinationEccentricCos: eccentric("declination", "at the equator"),
  hourAngleScale: scaleExplanation("hour angle"),
  declinationScale: scaleExplanation("declination"),
  hourAngleBacklash: backlash("hour-angle", "westward", "eastward"),
  declinationBacklash: backlash("declination", "northward", "southward"),
  hourAngleMeridianStep: meridianStep("hour-angle"),
  declinationMeridianStep: meridianStep("declination"),
  hourAngleCreep: creep("hour-angle"),
  declinationCreep: creep("declination"),
  polarAltitudeRate: settling("rises or sinks"),
  polarEastRate: settling("moves east or west"),
};

function meridianStep(axis: string): Explanation {
  return {
    is: "Something in the telescope changes sides when the tube crosses the meridian. It may be a mirror that flops in its cell, or a tube that is out of balance. Or the frame's load moves from one roller to the other.",
    shows: `The ${axis} readings jump by one amount between stars in the east and stars in the west. Within each half of the sky they agree.`,
    mend: "Check the mirror's edge supports and sling, the clamps, and the play of rollers and bearings. Sight stars close to the meridian on both sides to measure the step.",
  };
}

function creep(axis: string): Explanation {
  return {
    is: `The ${axis} zero moves slowly through the night. A clutch or a friction roller slips a little with each move, or an encoder wheel slides.`,
    shows: `The ${axis} readings drift away from the true angles in step with the time.`,
    mend: "Clean and tighten the clutch, the roller or the encoder wheel. Sight the first star again at the end of the night: the two readings show the creep directly.",
  };
}

function settling(how: string): Explanation {
  return {
    is: `The upper end of the polar axis ${how} during the night. A foot sinks into soft ground, a frame bends, a jack settles into its thread.`,
    shows: "Early and late sightings call for different directions of the polar axis.",
    mend: "Put wide plates under the feet, lock the jacks, and let the base stand loaded for a day. Then sight again.",
  };
}

function eccentric(axis: string, where: string): Explanation {
  return {
    is: `The ${axis} encoder's disc or wheel, or the divided circle, is not centred on the axis that it measures. This part of it is largest ${where}; its partner term is largest a quarter turn away.`,
    shows: `The ${axis} readings run ahead through one half turn of the axis and behind through the other, once a turn.`,
    mend: "Centre the disc with a dial gauge, or read it at two opposite places and take the mean. An eccentricity that stays the same can be left to the model.",
    amount: (arcmin) =>
      `On a disc of 100 mm across, ${arcminText(Math.abs(arcmin))} is ${fixed(50 * Math.tan(Math.abs(arcmin) * ARCMINUTE), 3)} mm off centre.`,
  };
}

function scaleExplanation(axis: "hour angle" | "declination"): Explanation {
  return {
    is: `The ${axis} reading grows faster (positive) or slower (negative) than the axis turns. The ratio of a roller or gear is not what the mount file says, or a coupling creeps.`,
    shows: `The ${axis} readings are right at one place and off by an amount that grows steadily to each side of it.`,
    mend: "Measure the ratio: turn the axis through a known angle, as large as it goes, and count. If the number of counts comes out the same each time, put it in the mount file. If not, something slips: clean and tighten the roller or the coupling.",
    amount: (value, mount) => {
      const readings = axis === "declination" ? mount.readings.declination : mount.readings.hourAngle;
      const ratio = 1 + value * ARCMINUTE;
      const off = `That is ${fixed(Math.abs(value) * 2 * Math.PI, 1)}′ in a full turn, ${fixed(Math.abs(value) * ARCMINUTE * 100, 3)} %.`;
      return readings.as === "counts"
        ? `${off} With perTurn at ${fixed(readings.perTurn * ratio, 1)} instead of ${fixed(readings.perTurn, 1)} it would vanish.`
        : off;
    },
  };
}

function backlash(axis: string, ahead: string, behind: string): Explanation {
  return {
    is: `Play between the ${axis} axis and its encoder: gear teeth, a loose coupling, a slack belt.`,
    shows: `The ${axis} reading stands ahead by half of it when the axis was last moved ${ahead}. Last moved ${behind}, it stands behind by half of it.`,
    mend: "Always come to a star from the same side and it cancels. To be rid of it, press the encoder's gear or roller on with a spring, and tighten the coupling's screws.",
  };
}

/** The shim for an angle over a length, `12.3 mm`. */
function shimText(lengthMm: number, arcmin: number): string {
  return `${fixed(shimMm(lengthMm, arcmin), 2)} mm`;
}

/**
 * The height of the shim that turns a part by an angle.
 *
 * @param lengthMm - between the two supports, millimetres
 * @param arcmin - the angle, arcminutes; its sign is not used
 * @returns millimetres
 */
export function shimMm(lengthMm: number, arcmin: number): number {
  return lengthMm * Math.tan(Math.abs(arcmin) * ARCMINUTE);
}

function squarenessShim(arcmin: number, mount: Mount): string {
  // Positive: the east end stands too far from the north pole. In the north the north pole is up the polar axis, so the
  // east end must go up it; in the south it is down the axis, so the west end must go up it.
  const eastMustGoUp = arcmin > 0 === mount.site.latitude >= 0;
  const side = eastMustGoUp ? "east" : "west";
  const other = eastMustGoUp ? "west" : "east";
  const size =
    mount.trunnionSpacingMm === null
      ? `by ${shimText(1000, arcmin)} for each metre between the trunnions (put trunnionSpacingMm in the mount file to have the shim worked out)`
      : `by ${shimText(mount.trunnionSpacingMm, arcmin)} (over ${fixed(mount.trunnionSpacingMm, 0)} mm between the trunnions)`;
  return `With the tube on the meridian, on its normal side: move the ${side} trunnion towards the upper end of the polar axis ${size}. Put the shim under the ${side} trunnion's block where it pushes the block towards the upper end; where a shim would push it the other way, put it under the ${other} block.`;
}

function coneShim(arcmin: number, mount: Mount): string {
  const leans = arcmin > 0 ? "east" : "west";
  const back = arcmin > 0 ? "west" : "east";
  const size =
    mount.ringSpacingMm === null
      ? `${shimText(1000, arcmin)} for each metre between the tube rings (put ringSpacingMm in the mount file to have the shim worked out)`
      : `${shimText(mount.ringSpacingMm, arcmin)} (over ${fixed(mount.ringSpacingMm, 0)} mm between the tube rings)`;
  const where =
    mount.kind === "german"
      ? `A shim under a ring pushes that ring away from the declination axis: with the tube on the ${back} end of the axis put it under the front ring, with the tube on the ${leans} end under the rear ring.`
      : `Between trunnions: put the shim on the ${leans} side of the front ring, or on the ${back} side of the rear ring.`;
  return `With the tube on the meridian, on its normal side: the sky end of the tube must go ${back}. Move the front ring ${back}, or the rear ring ${leans}, by ${size}. ${where}`;
}

function tiltText(arcmin: number, mount: Mount): string {
  const jacks = mount.base?.jacks ?? [];
  const norths = jacks.map((jack) => jack.northMm);
  const span = jacks.length > 1 ? Math.max(...norths) - Math.min(...norths) : 0;
  const upper = mount.site.latitude < 0 ? "south" : "north";
  const way = arcmin < 0 ? "must rise" : "must sink";
  return span > 0
    ? `The ${upper} end of the base ${way} against the other end by ${shimText(span, arcmin)} over the ${fixed(span, 0)} mm between your north and south jacks.`
    : `The ${upper} end of the base ${way} against the other end by ${shimText(1000, arcmin)} for each metre between them.`;
}

/**
 * What a term is, how it shows, and how to mend it at the mount, in plain words; with a fit also how much it is tonight
 * and what shim that asks for.
 *
 * @param name - the key of a term, for instance `squareness`
 * @param fit - a fit, for tonight's value and the mount's measures
 * @param nextStar - which star would measure it better, a sentence
 * @returns a report for {@link reportText} or {@link reportHtml}
 * @throws InputError `unknown-term` when there is no such term
 * @example
 * ```ts
 * reportText(explain("cone"))
 * ```
 */
export function explain(name: TermName, fit?: MountFit, nextStar: string | null = null): Report {
  if (!isBuiltIn(name)) return explainCustom(name, fit);
  const { is, shows, mend, amount } = explanations[name];
  const blocks: Block[] = [
    block.sentence(is),
    block.heading("How it shows"),
    block.sentence(shows),
    block.heading("How to correct it"),
    block.sentence(mend),
  ];
  blocks.push(...tonight(name, fit, amount));
  if (nextStar !== null) {
    blocks.push(block.sentence(`To measure it better, sight another star. ${nextStar}`));
  }
  if (turningTerms.some((one) => one === name)) {
    blocks.push(
      block.caution(
        "Before slackening anything that carries weight: drive power off, tube tied down and both axes locked, two people, no hands under the frame.",
      ),
    );
  }
  return { title: capital(termDescriptions[name].label), blocks };
}

function tonight(name: TermName, fit: MountFit | undefined, amount: Explanation["amount"]): Block[] {
  const terms = fit?.terms.filter((term) => term.name === name) ?? [];
  if (fit === undefined || terms.length === 0) return [];
  const blocks: Block[] = [block.heading("Tonight")];
  for (const term of terms) {
    const set = term.set === null ? "" : ` (${term.set})`;
    blocks.push(
      block.sentence(
        `${capital(term.label)}${set}: ${estimateText(term, term.unit)}, ${term.standing}.${advice(term, fit, amount)}`,
      ),
    );
  }
  return blocks;
}

/** Below this many standard uncertainties a value is not worth a spanner. */
const WORTH_MENDING_SIGMA = 2;

function advice(term: TermEstimate, fit: MountFit, amount: Explanation["amount"]): string {
  if (!fit.sound) return " The fit is not sound yet: correct nothing by it.";
  const isZero = term.name === "hourAngleZero" || term.name === "declinationZero";
  if (!isZero && Math.abs(term.value) < WORTH_MENDING_SIGMA * term.uncertainty) {
    return " That is no more than it is uncertain by: correct nothing by it.";
  }
  if (term.standing === "tolerance only") {
    return " Tonight's stars do not measure it well enough: sight more before correcting anything by it.";
  }
  const text = amount?.(term.value, fit.mount) ?? null;
  return text === null ? "" : ` ${text}`;
}

function explainCustom(name: TermName, fit: MountFit | undefined): Report {
  const term = fit?.mount.customTerms.find((candidate) => candidate.name === name);
  if (term === undefined && !(fit === undefined && /^custom[A-Z]/.test(name))) {
    const known = [...termNames, ...(fit?.mount.customTerms.map((candidate) => candidate.name) ?? [])];
    const nearest = didYouMean(name, known);
    throw new InputError({
      code: "unknown-term",
      message: `There is no term called that.${nearest === null ? "" : ` Did you mean ${nearest}?`}`,
      found: shown(name),
      allowed: known.join(", "),
    });
  }
  const blocks: Block[] = [
    block.sentence(
      "This is a term of the builder's own, from the mount file: what it is, the mount file's author knows.",
    ),
  ];
  if (term !== undefined) {
    blocks.push(
      block.list([
        `Hour-angle readings stand west by the term times ${term.hourAngle}`,
        `Declination readings stand north by the term times ${term.declination}`,
        term.tolerance === null
          ? "It is free"
          : `It is held by a tolerance of ± ${fixed(term.tolerance, 1)}′`,
      ]),
    );
  }
  blocks.push(...tonight(name, fit, undefined));
  return { title: term === undefined ? name : capital(term.label), blocks };
}

function isBuiltIn(name: TermName): name is BuiltInTermName {
  return (termNames as readonly string[]).includes(name);
}
