import { termDescriptions } from "../mount/terms.js";
import type { NextStar } from "../plan/next.js";
import type { Plan, PlannedStar } from "../plan/plan.js";
import { waysOf } from "../plan/play-plan.js";
import { count } from "../words/lists.js";
import { arcminText, fixed, signed } from "../words/numbers.js";
import { type Clock, clockOf, inWholeMinutes } from "./clock.js";
import { type Column, columnTable } from "./columns.js";
import { guidanceBlocks } from "./guidance-blocks.js";
import { type Block, block, type Report } from "./report.js";

/** An uncertainty larger than this is not worth a figure, arcminutes. */
const UNKNOWN_FROM_ARCMIN = 300;

function uncertaintyText(arcmin: number): string {
  if (arcmin >= UNKNOWN_FROM_ARCMIN) return "unknown";
  return arcminText(arcmin, arcmin < 1 ? 2 : arcmin < 10 ? 1 : 0);
}

/**
 * An evening's plan: what it will teach, the stars in order with the readings to expect, and when it is enough.
 *
 * @example
 * ```ts
 * reportText(planReport(planStars(mount, fromMs, { stars: 10 })))
 * ```
 */
export function planReport(plan: Plan): Report {
  const last = plan.stars[plan.stars.length - 1];
  const ofPole = plan.toLearn === "pole";
  const clock = clockOf(plan.timeZone, plan.from, inWholeMinutes(plan.stars.map(({ time }) => time)));
  const blocks: Block[] = [];
  if (last !== undefined) {
    blocks.push(block.verdict(verdict(plan, last)));
  }
  blocks.push(...guidanceBlocks(plan.notes));
  blocks.push(
    block.heading("The stars, in order"),
    columnTable(
      `${count(plan.stars.length, "star")} from ${clock.moment(plan.from)}, one every ${fixed(plan.minutesBetween, plan.minutesBetween % 1 === 0 ? 0 : 1)} minutes. ${clock.sentence}`,
      starColumns(plan, clock),
      plan.stars,
    ),
    ...(plan.stars.some(({ variable }) => variable)
      ? [block.sentence("v: a variable star, with the faintest magnitude that it reaches.")]
      : []),
    block.heading("What each will have taught"),
    {
      kind: "table",
      caption: `Expected uncertainty of the polar axis${ofPole ? "" : ` and of the ${goalText(plan)}`} after each star, 1σ`,
      head: [
        "",
        "Star",
        "Altitude ±",
        "East ±",
        ...(ofPole ? [] : ["Term ±"]),
        "Axes turn",
        ...(ofPole ? ["Enough"] : []),
      ],
      align: [
        "right",
        "left",
        "right",
        "right",
        ...(ofPole ? [] : (["right"] as const)),
        "right",
        ...(ofPole ? (["left"] as const) : []),
      ],
      rows: plan.stars.map((star) => [
        String(star.place),
        star.star,
        uncertaintyText(star.after.altitude),
        uncertaintyText(star.after.east),
        ...(star.termAfter === null ? [] : [uncertaintyText(star.termAfter)]),
        star.slewDeg === null ? "" : `${fixed(star.slewDeg, 0)}°`,
        ...(ofPole ? [star.enough ? "yes" : ""] : []),
      ]),
    },
    // What is enough is judged by the turns, so by the pole alone.
    ...(ofPole ? [block.sentence(enoughText(plan))] : []),
    block.sentence(leftOutText(plan)),
  );
  return { title: `Stars to sight with ${plan.mount}`, blocks };
}

function starColumns(plan: Plan, clock: Clock): (Column<PlannedStar> | null)[] {
  return [
    { head: "", align: "right", cell: ({ place }) => String(place) },
    { head: "Time", align: "left", cell: ({ time }) => clock.time(time) },
    clock.isLocal ? { head: "UTC", align: "left", cell: ({ time }) => clock.utc(time) } : null,
    {
      head: "Star",
      align: "left",
      cell: ({ star, side }) => (side === "beyond" ? `${star} (beyond)` : star),
    },
    plan.stars.some(({ approach }) => approach !== null)
      ? { head: "Come", align: "left", cell: ({ approach }) => approachText(approach) }
      : null,
    {
      head: "Mag.",
      align: "right",
      cell: ({ vMag, variable }) => `${fixed(vMag, 1)}${variable ? " v" : ""}`,
    },
    { head: "Alt.", align: "right", cell: ({ altitudeDeg }) => `${fixed(altitudeDeg, 0)}°` },
    { head: "Azim.", align: "right", cell: ({ azimuthDeg }) => `${fixed(azimuthDeg, 0)}°` },
    { head: "Hour angle reads", align: "right", cell: ({ predicted }) => predicted.hourAngleText },
    { head: "Declination reads", align: "right", cell: ({ predicted }) => predicted.declinationText },
    // Where the zeros are unknown no reading is known to anything.
    plan.stars.some(({ predicted }) => predicted.uncertaintyArcmin !== null)
      ? {
          head: "Within",
          align: "right",
          cell: ({ predicted }) =>
            predicted.uncertaintyArcmin === null ? "unknown" : uncertaintyText(predicted.uncertaintyArcmin),
        }
      : null,
  ];
}

/** Which way the axis turns when it comes to the star. */
function approachText(approach: PlannedStar["approach"]): string {
  return approach === null ? "" : `${waysOf(approach.axis)[approach.from]} (${approach.from})`;
}

/** The term that is to be learnt, as it is called. */
function goalText({ toLearn }: Plan): string {
  return toLearn in termDescriptions
    ? termDescriptions[toLearn as keyof typeof termDescriptions].label
    : toLearn;
}

function verdict(plan: Plan, last: PlannedStar): string {
  const stars = `With these ${count(plan.stars.length, "star")}`;
  if (plan.toLearn !== "pole") {
    return `${stars} the ${goalText(plan)} will be known to ${uncertaintyText(last.termAfter ?? Number.NaN)}.`;
  }
  const before = plan.before === null ? "" : ` (now ${uncertaintyText(plan.before.axis)} together)`;
  return `${stars} the polar axis will be known to ${uncertaintyText(last.after.altitude)} in altitude and ${uncertaintyText(last.after.east)} in east${before}.`;
}

function enoughText(plan: Plan): string {
  const { altitude, east, altitudeBy, eastBy } = plan.smallestSetting;
  const setting =
    altitudeBy === "" && eastBy === ""
      ? `the mount file has nothing to turn, so an axis known to ${arcminText(altitude / 2, 2)} each way is taken for enough`
      : `the smallest turn moves the axis ${arcminText(altitude, 2)} in altitude${altitudeBy === "" ? "" : ` (${altitudeBy})`} and ${arcminText(east, 2)} in east${eastBy === "" ? "" : ` (${eastBy})`}`;
  return plan.enoughAfter === null
    ? `This is not yet enough: more stars would still change the turns (${setting}). ${plan.moreForEnough === null ? "No number of stars that may be sighted tonight would settle it." : `About ${count(plan.moreForEnough, "star")} more would settle it.`}`
    : `Enough after star ${plan.enoughAfter}: more would not change the turns (${setting}).`;
}

function leftOutText(plan: Plan): string {
  const { leftOut } = plan;
  const parts = [
    [leftOut.outsideLimits, "outside the limits or down"],
    [leftOut.likeNeighbour, "easily taken for a neighbour"],
    [leftOut.nearSun, "near the Sun"],
    [leftOut.nearMoon, "near the Moon"],
    [leftOut.nearZenith, "near the zenith"],
    [leftOut.nearPole, "near the pole"],
    [leftOut.sightedAlready, "sighted already"],
  ] as const;
  const listed = parts.filter(([number]) => number > 0).map(([number, text]) => `${number} ${text}`);
  const way = `The axes turn through ${fixed(plan.slewDeg, 0)}° in all`;
  return `${way}. Chosen from ${count(plan.candidates, "star")} that may be sighted for the whole session${listed.length === 0 ? "" : `; left out: ${listed.join(", ")}`}.`;
}

/** The next star: its reason first, then where it stands and what the axes will read. */
export function nextStarReport(next: NextStar | null): Report {
  const title = "The next star";
  if (next === null) {
    return {
      title,
      blocks: [
        block.verdict(
          `No star of the catalogue may be sighted now: none stands inside the limits, apart from the Moon and from stars that look alike. Wait, or allow fainter ones.`,
        ),
      ],
    };
  }
  const { predicted } = next;
  const within =
    predicted.uncertaintyArcmin === null
      ? "once the zeros are known"
      : `within ${uncertaintyText(predicted.uncertaintyArcmin)}`;
  const blocks: Block[] = [
    block.verdict(next.reason),
    block.sentence(
      `${next.star} (magnitude ${fixed(next.vMag, 1)}) at ${clockOf(next.timeZone, next.time).moment(next.time)}: altitude ${fixed(next.altitudeDeg, 0)}°, azimuth ${fixed(next.azimuthDeg, 0)}°, hour angle ${signed(next.hourAngleHours, 2)} h. The axes should read ${predicted.hourAngleText} and ${predicted.declinationText}, ${within}${next.side === "beyond" ? ", with the tube turned over the pole" : ""}.`,
    ),
  ];
  if (next.others.length > 0) {
    blocks.push(block.sentence(`If cloud stands before it: ${next.others.join(", then ")}.`));
  }
  return { title, blocks };
}
