/**
 * Slips that builders make, each in an invented yoke in the north with dials in degrees, three jacks and no bolts, and its
 * times in local time. Each must be answered by what to do. Common practice, no source.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { parseMount } from "../../src/mount/mount-file.js";
import { simulateNight } from "../../src/simulate/simulate-night.js";
import { wallClock } from "../../src/sky/zone.js";

const folder = mkdtempSync(join(tmpdir(), "polewright-slips-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const yoke = {
  name: "Invented yoke",
  site: { latitude: 47.2, longitude: -3.5, timeZone: "Europe/Paris" },
  kind: "yoke",
  readings: { hourAngle: { as: "degrees", smallest: 0.1 }, declination: { as: "degrees", smallest: 0.1 } },
  base: {
    jacks: [
      { name: "north", eastMm: 0, northMm: 1500 },
      { name: "south-east", eastMm: 700, northMm: -1500 },
      { name: "south-west", eastMm: -700, northMm: -1500 },
    ],
    pitchMm: 2.5,
    clockwise: "lowers",
    raiseLeftMm: 25,
    lowerLeftMm: 15,
  },
};
type Yoke = typeof yoke;

interface Row {
  readonly time: string;
  readonly star: string;
  readonly hourAngle: number;
  readonly declination: number;
}

const night = simulateNight({
  seed: 5,
  mount: parseMount(yoke),
  targets: 18,
  fromMs: Date.parse("2026-04-10T19:30:00Z"),
  toMs: Date.parse("2026-04-10T21:50:00Z"),
  terms: {
    polarAltitude: -38,
    polarEast: 51,
    cone: 14,
    squareness: -9,
    hourAngleZero: 300,
    declinationZero: -420,
    tubeSag: 2,
  },
});
const rows: readonly Row[] = night.sightings.map((one) => {
  const { date, time } = wallClock(one.timeMs, "Europe/Paris");
  return {
    time: `${date} ${time}`,
    star: one.star,
    hourAngle: one.hourAngle!,
    declination: one.declination!,
  };
});

interface Slip {
  readonly mount?: (mount: Yoke) => unknown;
  readonly row?: (row: Row, index: number) => Partial<Record<keyof Row, string | number>>;
  readonly text?: (csv: string) => string;
}

/** The answer to `turns`, on one line. */
function answerTo({ mount, row, text }: Slip): { status: number | null; said: string } {
  const lines = rows.map((one, index) => {
    const written = { ...one, ...row?.(one, index) };
    return `${written.time},${written.star},${written.hourAngle},${written.declination}`;
  });
  const csv = ["time,star,hourAngle,declination", ...lines, ""].join("\n");
  const file = mount?.(structuredClone(yoke)) ?? yoke;
  writeFileSync(join(folder, "mount.json"), typeof file === "string" ? file : JSON.stringify(file, null, 2));
  writeFileSync(join(folder, "night.csv"), text?.(csv) ?? csv);
  const cli = new URL("../../dist/cli/main.js", import.meta.url).pathname;
  const { status, stdout, stderr } = spawnSync(process.execPath, [cli, "turns", "night.csv"], {
    cwd: folder,
    encoding: "utf8",
  });
  return { status, said: `${stderr}${stdout}`.replace(/\s+/g, " ") };
}

const base = (change: Record<string, unknown>) => (mount: Yoke) => ({
  ...mount,
  base: { ...mount.base, ...change },
});
const site = (change: Record<string, unknown>) => (mount: Yoke) => ({
  ...mount,
  site: { ...mount.site, ...change },
});
const only = (index: number, change: (row: Row) => Partial<Record<keyof Row, string | number>>) => ({
  row: (row: Row, i: number) => (i === index ? change(row) : {}),
});

const refused: readonly (readonly [string, Slip, RegExp])[] = [
  ["no zone", { mount: site({ timeZone: undefined }) }, /lines 2 to 19, .* has no zone.* the mount file/],
  [
    "day, month and year",
    { text: (csv) => csv.replaceAll("2026-04-10", "10.04.2026") },
    /lines 2 to 19.*ISO 8601/,
  ],
  ["another name of a column", { text: (csv) => csv.replace("hourAngle", "ha") }, /Did you mean hourAngle/],
  ["a misspelt star", only(6, () => ({ star: "Aldibah" })), /Did you mean Aldhibah/],
  ["a planet", only(6, () => ({ star: "Jupiter" })), /moves among the stars/],
  [
    "jacks in centimetres",
    {
      mount: (mount) => ({
        ...mount,
        base: {
          ...mount.base,
          jacks: mount.base.jacks.map((jack) => ({
            ...jack,
            eastMm: jack.eastMm / 10,
            northMm: jack.northMm / 10,
          })),
        },
      }),
    },
    /^mount.json[^:]*base.jacks: .*centimetres or inches/,
  ],
  ["threads per inch", { mount: base({ pitchMm: 10 }) }, /^mount.json[^:]*pitchMm: .*threads per inch/],
  ["a pitch in metres", { mount: base({ pitchMm: 0.0025 }) }, /^mount.json[^:]*pitchMm: .*in metres/],
  ["a misspelt key", { mount: base({ pitchmm: 2 }) }, /Did you mean pitchMm/],
  ["a wrong choice", { mount: base({ clockwise: "down" }) }, /"raises" or "lowers"/],
  ["travel left out", { mount: base({ raiseLeftMm: undefined }) }, /travel left upward/],
  [
    "a comma lost in the JSON",
    { mount: (mount) => JSON.stringify(mount, null, 2).replace(",", "") },
    /^mount.json, line 3: .*JSON/,
  ],
  ["the latitude's sign", { mount: site({ latitude: -47.2 }) }, /Set site.latitude to 47.2/],
  [
    "latitude and longitude exchanged",
    { mount: site({ latitude: -3.5, longitude: 47.2 }) },
    /Set site.latitude to 47.2 and site.longitude to -3.5/,
  ],
  [
    "the columns exchanged",
    { row: ({ hourAngle, declination }) => ({ hourAngle: declination, declination: hourAngle }) },
    /Exchange the columns hourAngle and declination/,
  ],
  [
    "hour angle the other way",
    { row: (row) => ({ hourAngle: -row.hourAngle }) },
    /hour-angle dial counts the other way.* Set readings.hourAngle.sense to -1/,
  ],
  [
    "declination the other way",
    { row: (row) => ({ declination: -row.declination }) },
    /Set readings.declination.sense to -1/,
  ],
  [
    "hours on a dial of degrees",
    { row: (row) => ({ hourAngle: (row.hourAngle / 15).toFixed(3) }) },
    /hour-angle dial is read in hours, not in degrees.* Set readings.hourAngle.as to hours/,
  ],
  [
    "encoder steps with a wrong reduction",
    {
      mount: (mount) => ({
        ...mount,
        readings: { ...mount.readings, hourAngle: { as: "counts", perTurn: 3600 } },
      }),
      row: (row) => ({ hourAngle: Math.round(row.hourAngle * 12) }),
    },
    /has about 43[0-3]0 steps a turn, not 3600.*count them over a full turn/,
  ],
];

const answered: readonly (readonly [string, Slip, RegExp])[] = [
  [
    "a minus forgotten",
    only(10, ({ declination }) => ({ declination: Math.abs(declination) })),
    /Row 11 .* declination reading is wrong/,
  ],
  [
    "a misnamed star",
    only(6, () => ({ star: "Castor" })),
    /If you sighted Aldhibah, write that name in row 7/,
  ],
  [
    "ten degrees misread",
    only(7, ({ hourAngle }) => ({ hourAngle: hourAngle - 10 })),
    /Row 8 .* hour-angle reading is wrong/,
  ],
  [
    "an hour mistyped",
    only(7, ({ time }) => ({ time: time.replace(" 22:", " 23:") })),
    /Row 8 \(Regulus\) fits no star/,
  ],
  [
    "a slipped clutch",
    { row: ({ hourAngle }, i) => (i < 9 ? {} : { hourAngle: (hourAngle + 2.3).toFixed(1) }) },
    /Between rows 9 and 10 the encoder zeros moved.*column zeroSet/,
  ],
  [
    "semicolons and decimal commas",
    {
      text: (csv) =>
        csv
          .split("\n")
          .map((line) => line.replaceAll(",", ";").replaceAll(".", ","))
          .join("\n"),
    },
    /Turn the north jack/,
  ],
  ["jacks at the end of their travel", { mount: base({ raiseLeftMm: 0 }) }, /reach only .* pack the feet/],
];

describe("a usual slip", () => {
  it("is none here: the axis is found", () => {
    const { status, said } = answerTo({});
    expect(status).toBe(0);
    expect(said).toMatch(/points 3[6-9]\.\d′ ± 1\.\d′ too low and (49|5[0-2])\.\d′ ± 0\.\d′ too far east/);
  });

  it.each(refused)("is refused with what to do: %s", (_, slip, what) => {
    const { status, said } = answerTo(slip);
    expect(status).toBe(1);
    expect(said).toMatch(what);
    expect(said).not.toMatch(/Turn the north jack/);
    // Nothing that follows from the slip alone is told beside it.
    if (slip.mount !== undefined) expect(said).not.toMatch(/mount.json.*has no zone/);
  });

  it.each(answered)("is told above the turns: %s", (_, slip, what) => {
    const { status, said } = answerTo(slip);
    expect(status).toBe(0);
    expect(said).toMatch(what);
  });
});
