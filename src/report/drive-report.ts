/** What a course tells of the drive, in words. */
import type { DriveResult, PeriodicError } from "../drive/drive-result.js";
import { formatTime } from "../sky/time.js";
import { count, listText } from "../words/lists.js";
import { noteText } from "../words/notes.js";
import { decimalsFor, fixed, signed } from "../words/numbers.js";
import { type Block, block, type Report } from "./report.js";

/** What can hurt at a drive. */
export const driveCautions: readonly string[] = [
  "Keep fingers, hair and sleeves away from rollers, worm and belt while the drive runs. Switch its power off before you touch them.",
  "Before a roller or worm comes off, lock or prop the axis: without it the tube may swing by itself.",
  "A mains drive out of doors needs a residual-current device and a dry box. Local rules come first; leave mains work to a qualified person.",
];

/** A length of time as people say it: seconds, then minutes, then hours. */
function lasting(seconds: number): string {
  if (seconds < 1) return `${fixed(seconds, 2)} s`;
  if (seconds < 100) return `${fixed(seconds, seconds < 10 ? 1 : 0)} s`;
  return seconds < 7200 ? `${fixed(seconds / 60, 0)} min` : `${fixed(seconds / 3600, 1)} h`;
}

function withUncertainty(value: number, uncertainty: number, unit: string, sign = true): string {
  const decimals = decimalsFor(uncertainty);
  return `${(sign ? signed : fixed)(value, decimals)} ± ${fixed(uncertainty, decimals)}${unit}`;
}

/**
 * What a tracked star's course tells of the drive.
 *
 * @param result - from {@link drive}
 */
export function driveReport(result: DriveResult): Report {
  const { rate, remedy, longest } = result;
  const blocks: Block[] = [];
  // What speaks against the figures stands above them.
  const grave = new Set(["west-missing", "axis-unknown", "slow-part", "polar-disagrees", "bumped"]);
  for (const note of result.notes.filter(({ code }) => grave.has(code)))
    blocks.push(block.caution(noteText(note)));
  if (rate !== null && remedy !== null) {
    blocks.push(block.verdict(remedy.sentence));
    blocks.push({
      kind: "table",
      caption: "The rate, against the sidereal rate; negative is too slow",
      head: ["What", "ppm", "A star on the equator goes west by"],
      align: ["left", "right", "right"],
      rows: [
        [
          "the drive",
          withUncertainty(rate.errorPpm, rate.uncertaintyPpm, ""),
          withUncertainty(rate.westArcsecPerMinute, rate.uncertaintyArcsecPerMinute, "″ a minute"),
        ],
        [
          "as this star shows it, axis and sags included",
          withUncertainty(rate.herePpm.value, rate.herePpm.uncertainty, ""),
          `${signed((-rate.herePpm.value * 902.46) / 1e6, 2)}″ a minute`,
        ],
        ["the best rate for this star, by the air and the axis", signed(result.bestRate.starPpm, 0), ""],
        ["the mean best rate over the sky", signed(result.bestRate.meanPpm, 0), ""],
      ],
    });
    if (remedy.ways.length > 0) {
      blocks.push({
        kind: "table",
        caption: "What to change, one of these",
        head: ["What", "Now", "For the sidereal rate", "For the mean best rate", "±"],
        align: ["left", "right", "right", "right", "right"],
        rows: remedy.ways.map((way) => {
          const decimals = Math.max(1, Math.min(6, Math.ceil(-Math.log10(way.uncertainty)) + 1));
          return [
            way.means === "roller" ? "roller diameter, mm" : `${way.means}, ${way.unit}`,
            String(way.now),
            fixed(way.sidereal, decimals),
            fixed(way.meanBest, decimals),
            fixed(way.uncertainty, decimals),
          ];
        }),
      });
    }
    blocks.push(...periodicBlocks(result));
  }
  if (longest !== null) {
    blocks.push(
      block.heading("Exposures"),
      block.sentence(
        `The drive smears a star on the equator by ${fixed(longest.limitArcsec, 1)}″ in ${lasting(longest.asItIsS)}; with the rate corrected in ${lasting(longest.rateCorrectedS)}. Away from the equator it is less, by the cosine of the declination.`,
      ),
      {
        kind: "table",
        caption: "Smear at the worst beginning, on the equator",
        head: ["Exposure", "Rate as it is", "Rate corrected"],
        align: ["right", "right", "right"],
        rows: result.smear.map((one) => [
          lasting(one.seconds),
          `${fixed(one.arcsec, 1)}″`,
          `${fixed(one.periodicArcsec, 1)}″`,
        ]),
      },
    );
  }
  blocks.push(...polarBlocks(result));
  if (result.play.length > 0) {
    blocks.push({
      kind: "table",
      caption: "Play taken up after the drive was reversed or the star set",
      head: ["Began", "Segment", "Stood still", "Play"],
      align: ["left", "left", "right", "right"],
      rows: result.play.map((one) => [
        formatTime(one.timeMs),
        one.segment,
        lasting(one.seconds),
        `${fixed(one.arcsec / 60, 1)}′`,
      ]),
    });
  }
  blocks.push(block.sentence(madeOf(result)));
  for (const note of result.notes.filter(({ code }) => !grave.has(code)))
    blocks.push(block.sentence(noteText(note)));
  blocks.push(block.heading("Before a hand goes near the drive"));
  blocks.push(...driveCautions.map(block.caution));
  return { title: `The drive of ${result.mountName}`, blocks };
}

function madeOf(result: DriveResult): string {
  const { noise, moments } = result;
  const ways = [
    ...(noise.west === null ? [] : [`${fixed(noise.west.scatterArcsec, 1)}″ west`]),
    ...(noise.north === null ? [] : [`${fixed(noise.north.scatterArcsec, 1)}″ north`]),
  ];
  return `From ${count(moments.used, "moment")} of ${listText(result.stars)} over ${fixed(result.spanMinutes, 0)} minutes, in ${count(result.segments, "stretch", "stretches")}. Each moment scatters by ${listText(ways)}.`;
}

function periodicBlocks(result: DriveResult): Block[] {
  const seen = result.periodic.filter((one) => one.seen);
  const blocks: Block[] = [
    block.heading("Periodic error"),
    block.sentence(
      seen.length === 0
        ? "No periodic error stands out of the noise."
        : `From top to bottom ${fixed(result.peakToPeakArcsec, 1)}″ on the equator. ${partSentence(seen)}`,
    ),
  ];
  if (result.periodic.length > 0) {
    blocks.push({
      kind: "table",
      caption: "Half from top to bottom, on the equator",
      head: ["Part", "Period, s", "Amplitude", "By chance", ""],
      align: ["left", "right", "right", "right", "left"],
      rows: result.periodic.map((one) => [
        partText(one),
        one.periodUncertaintyS === 0
          ? fixed(one.periodS, 1)
          : withUncertainty(one.periodS, one.periodUncertaintyS, "", false),
        withUncertainty(one.amplitudeArcsec, one.uncertaintyArcsec, "″", false),
        chanceText(one.falseAlarm),
        one.seen ? "seen" : "not seen",
      ]),
    });
  }
  return blocks;
}

function partText(one: PeriodicError): string {
  if (one.part === null) return "unknown part";
  const often =
    ["", "", ", twice a turn", ", three times a turn"][one.harmonic!] ?? `, ${one.harmonic} times a turn`;
  return `${one.part}${often}`;
}

function partSentence(seen: readonly PeriodicError[]): string {
  const [first] = seen;
  if (first!.part === null) {
    return `No part in the mount file has a period of ${fixed(first!.periodS, 0)} s: look for one that turns once in that time.`;
  }
  const look = (first!.harmonic ?? 1) === 2 ? "oval, or its shaft bent" : "off centre, or its shaft bent";
  return `Most of it comes from the ${first!.part}: it is ${look}.`;
}

function chanceText(chance: number): string {
  if (chance < 1e-6) return "below 1 in a million";
  return chance < 0.01 ? `1 in ${fixed(1 / chance, 0)}` : `${fixed(100 * chance, chance < 0.1 ? 1 : 0)} %`;
}

function polarBlocks(result: DriveResult): Block[] {
  const { polar } = result;
  if (polar === null) return [];
  const seen = `The star went north by ${withUncertainty(polar.seen.value, polar.seen.uncertainty, "″ a minute")}.`;
  const expected =
    polar.sigmas === null
      ? "That is the polar axis, the air and the sags, not the drive."
      : `The axis of the sightings, the air and the sags would make ${withUncertainty(polar.expected.value, polar.expected.uncertainty, "″ a minute")}: they ${polar.sigmas > 3 ? "disagree" : "agree"} (${fixed(polar.sigmas, 1)} σ).`;
  return [block.heading("The axis's part, held apart"), block.sentence(`${seen} ${expected}`)];
}
