import { parse } from "csv-parse/sync";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Fault, InputError } from "../../src/errors.js";
import { firstMount } from "../../src/mount/first-mount.js";
import { parseMount } from "../../src/mount/mount-file.js";
import { nightFileStart, readNight, readNightHeader, withdrawalLine } from "../../src/night/night-file.js";
import { reduceNight } from "../../src/night/reduce.js";
import {
  makeSighting,
  type SightingFields,
  sightingColumns,
  sightingLine,
} from "../../src/night/sighting-fields.js";
import { csvField, csvLines } from "../../src/tables/csv-lines.js";

const SEED = 4180;
const mount = parseMount(firstMount);
const HEADER = "time,star,hourAngle,declination";
const CANOPUS = "2026-03-14T19:22:10Z,Canopus,1877,-1460";
const ACHERNAR = "2026-03-14T19:25:40Z,Achernar,3121,-1591";

function faultsOf(text: string): readonly Fault[] {
  try {
    readNight(text, mount, "night.csv");
  } catch (problem) {
    if (problem instanceof InputError) return problem.faults;
    throw problem;
  }
  return [];
}

const file = (...lines: string[]): string => `${lines.join("\n")}\n`;
const placesOf = (text: string) =>
  faultsOf(text).map(({ code, line, row, column }) => [code, line, row, column]);

describe("a night file that is right", () => {
  it("gives its sightings, rows counted from 1 and lines as in the file", () => {
    const { night, warnings } = readNight(
      file("# a comment", "", HEADER, CANOPUS, "", "# another, with comma", ACHERNAR),
      mount,
    );
    expect(warnings).toEqual([]);
    expect(night.sightings).toHaveLength(2);
    expect(night.sightings[0]).toMatchObject({
      row: 1,
      line: 4,
      time: "2026-03-14T19:22:10Z",
      timeMs: Date.UTC(2026, 2, 14, 19, 22, 10),
      star: "Canopus",
      hourAngle: 1877,
      declination: -1460,
      pressureHPa: null,
      temperatureC: null,
      zeroSet: "",
      tubeSet: "",
      side: "normal",
      hourAngleApproach: null,
      declinationApproach: null,
      centringArcmin: null,
      use: true,
      note: "",
    });
    expect(night.sightings[0]!.catalogueStar?.hip).toBe(30438);
    expect(night.sightings[1]).toMatchObject({ row: 2, line: 7, star: "Achernar" });
  });

  it("may have its columns in any order and its header in any spelling of case, blanks and underscores", () => {
    const text = file(
      " Declination ,HOUR_ANGLE,Star,hour angle approach,TIME",
      "-1460,1877,canopus,+,2026-03-14T19:22:10Z",
    );
    expect(readNight(text, mount).night.sightings[0]).toMatchObject({
      hourAngle: 1877,
      declination: -1460,
      hourAngleApproach: 1,
    });
  });

  it.each([
    ["a byte-order mark", `\uFEFF${file(HEADER, CANOPUS)}`],
    ["CRLF", file(HEADER, CANOPUS).replaceAll("\n", "\r\n")],
    ["CR", file(HEADER, CANOPUS).replaceAll("\n", "\r")],
    ["empty columns that a spreadsheet adds", file(`${HEADER},,`, `${CANOPUS},,`, ",,,,,")],
    ["empty fields at the end", file(HEADER, `${CANOPUS},,`)],
    ["quotation marks", file(HEADER, '"2026-03-14T19:22:10Z","Canopus","1877","-1460"')],
    ["blanks round the fields", file(HEADER, " 2026-03-14T19:22:10Z , Canopus , 1877 , −1460 ")],
  ])("may have %s", (_, text) => {
    expect(readNight(text, mount).night.sightings).toMatchObject([
      { star: "Canopus", hourAngle: 1877, declination: -1460 },
    ]);
  });

  it("may have tabs or semicolons between its columns, and with semicolons decimal commas", () => {
    const half = {
      ...mount,
      readings: { ...mount.readings, hourAngle: { ...mount.readings.hourAngle, smallest: 0.5 } },
    };
    const text = (mark: string, ...rows: string[][]) =>
      file(
        "# ours, so far",
        ...[HEADER.split(",").concat("centringArcmin", "note"), ...rows].map((row) => row.join(mark)),
      );
    const row = ["2026-03-14T19:22:10,5Z", "Canopus", "1877,5", "-1460", "0,8", '"thin; gusty, cold"'];
    const expected = {
      timeMs: Date.UTC(2026, 2, 14, 19, 22, 10, 500),
      star: "Canopus",
      hourAngle: 1877.5,
      declination: -1460,
      centringArcmin: 0.8,
      note: "thin; gusty, cold",
    };
    expect(readNight(text(";", row), half).night.sightings).toMatchObject([expected]);
    const points = row.map((field) => field.replace(/^([\d-]+),(\d)$/, "$1.$2"));
    expect(readNight(text(";", points), half).night.sightings).toMatchObject([expected]);
    expect(readNight(text("\t", points), half).night.sightings).toMatchObject([expected]);
    expect(() => readNight(text("\t", row), half)).toThrow(/comma stands in the number/);
    const { names, separator } = readNightHeader(text(";", row));
    const given = { time: row[0]!, star: "Canopus", hourAngle: 1877.5, declination: -1460, note: "a; b" };
    expect(sightingLine(given, names, separator)).toBe('2026-03-14T19:22:10,5Z;Canopus;1877,5;-1460;;"a; b"');
  });

  it("may give ICRS coordinates instead of a star", () => {
    const text = file(
      "time,raDeg,decDeg,hourAngle,declination",
      "2026-03-14T19:22:10Z,95.98796,-52.69566,1877,-1460",
    );
    expect(readNight(text, mount).night.sightings[0]).toMatchObject({
      star: "RA 95.9880° Dec −52.6957°",
      catalogueStar: null,
      position: { raDeg: 95.98796, decDeg: -52.69566 },
    });
  });

  it("reads every column", () => {
    const header = `${HEADER},pressureHPa,temperatureC,zeroSet,tubeSet,side,hourAngleApproach,declinationApproach,centringArcmin,use,note`;
    const text = file(
      header,
      `${CANOPUS},911.5,-3,second,turned,BEYOND,+,−,1.5,no,"thin cloud, ""12"" seeing"`,
    );
    expect(readNight(text, mount).night.sightings[0]).toMatchObject({
      pressureHPa: 911.5,
      temperatureC: -3,
      zeroSet: "second",
      tubeSet: "turned",
      side: "beyond",
      hourAngleApproach: 1,
      declinationApproach: -1,
      centringArcmin: 1.5,
      use: false,
      note: 'thin cloud, "12" seeing',
    });
  });

  it("may lack a reading: one counts alone, and a group stands in for both", () => {
    const { night, warnings } = readNight(
      file(
        `${HEADER},group`,
        "2026-03-14T19:22:10Z,Canopus,1877,,",
        "2026-03-14T19:23:10Z,Canopus,,-1460,",
        "2026-03-14T19:24:10Z,Canopus,,,first",
        "2026-03-14T19:25:10Z,Canopus,1877,,first",
        CANOPUS.replace("22:10", "26:10").concat(","),
      ),
      mount,
    );
    expect(
      night.sightings.map(({ hourAngle, declination, group }) => [hourAngle, declination, group]),
    ).toEqual([
      [1877, null, null],
      [null, -1460, null],
      [null, null, "first"],
      [1877, null, "first"],
      [1877, -1460, null],
    ]);
    expect(warnings).toMatchObject([{ code: "missing-reading", line: 2, row: 1, column: "declination" }]);
    const reduced = reduceNight(night);
    expect([...reduced.hasHourAngle]).toEqual([1, 0, 0, 1, 1]);
    expect([...reduced.hasDeclination]).toEqual([0, 1, 0, 0, 1]);
    expect([...reduced.readingHourAngle].map(Number.isNaN)).toEqual([false, true, true, false, false]);
    expect([...reduced.readingDeclination].map(Number.isNaN)).toEqual([true, false, true, true, false]);
  });

  it("may have no column of readings where it has groups", () => {
    const text = file("time,star,group", "2026-03-14T19:22:10Z,Canopus,a");
    expect(readNight(text, mount).night.sightings).toMatchObject([
      { hourAngle: null, declination: null, group: "a" },
    ]);
    expect(placesOf(file("time,star,group", "2026-03-14T19:22:10Z,Canopus,"))).toEqual([
      ["missing-value", 2, 1, "hourAngle"],
    ]);
  });

  it("carries a label on to the rows that follow", () => {
    const rows = ["", "first", "", "second", ""].map(
      (label, n) => `2026-03-14T19:2${n}:10Z,Canopus,1877,-1460,${label}`,
    );
    const { sightings } = readNight(file(`${HEADER},zeroSet`, ...rows), mount).night;
    expect(sightings.map(({ zeroSet }) => zeroSet)).toEqual(["", "first", "first", "second", "second"]);
  });

  it("may be without sightings", () => {
    expect(readNight(nightFileStart(), mount)).toMatchObject({
      night: { sightings: [] },
      header: sightingColumns,
    });
    expect(readNight(HEADER, mount).night.sightings).toEqual([]);
  });

  it("may have a note over several lines", () => {
    const text = file(`${HEADER},note`, `${CANOPUS},"first line`, "", 'and, third"', `${ACHERNAR},`);
    const { sightings } = readNight(text, mount).night;
    expect(sightings.map(({ line, note }) => [line, note])).toEqual([
      [2, "first line\n\nand, third"],
      [5, ""],
    ]);
  });

  it("warns of a sighting that stands in it twice", () => {
    const { warnings } = readNight(file(HEADER, CANOPUS, ACHERNAR, CANOPUS), mount);
    expect(warnings).toMatchObject([{ code: "repeated-row", line: 4, row: 3 }]);
  });
});

describe("a faulty night file", () => {
  it("reports every faulty row at once, by line, row and column", () => {
    const text = file(
      HEADER,
      "2026-03-14T19:22:10,Canopuss,1e5,1.5",
      CANOPUS,
      "2026-03-14T19:22:10Z,Canopus,1,234,5",
      ",,,",
      ",,7,",
      '2026-03-14T19:22:10Z,"Canopus,1,2',
      ACHERNAR,
      '2026-03-14T19:22:10Z,Canopus "a",1,2',
      "2026-03-14T25:22:10Z,Canopus,12:30,NaN",
    );
    expect(placesOf(text)).toEqual([
      ["time-without-zone", 2, 1, "time"],
      ["unknown-star", 2, 1, "star"],
      ["unreadable-reading", 2, 1, "hourAngle"],
      ["counts-not-whole", 2, 1, "declination"],
      ["wrong-field-count", 4, 3, undefined],
      ["missing-value", 6, 4, "time"],
      ["missing-value", 6, 4, "star"],
      ["unreadable-row", 7, 5, undefined],
      ["unreadable-row", 9, 7, undefined],
      ["time-not-iso", 10, 8, "time"],
      ["wrong-unit", 10, 8, "hourAngle"],
      ["unreadable-reading", 10, 8, "declination"],
    ]);
    const faults = faultsOf(text);
    expect(faults.every((fault) => fault.file === "night.csv")).toBe(true);
    expect(faults[1]!.message).toContain("Did you mean Canopus");
    expect(faults[4]!.message).toContain("decimal comma");
  });

  it.each<[string, string, string, string]>([
    ["raDeg", "360", "-52", "out-of-range"],
    ["raDeg", "6h23m", "-52", "not-a-number"],
    ["decDeg", "95", "-90.5", "out-of-range"],
    ["decDeg", "95", "", "missing-value"],
    ["raDeg", "", "-52", "missing-value"],
  ])("refuses %s in %s, %s as %s", (column, ra, dec, code) => {
    const text = file("time,raDeg,decDeg,hourAngle,declination", `2026-03-14T19:22:10Z,${ra},${dec},1,2`);
    expect(placesOf(text)).toEqual([[code, 2, 1, column]]);
  });

  it("refuses a star and coordinates in one row", () => {
    expect(placesOf(file(`${HEADER},raDeg,decDeg`, `${CANOPUS},95,-52`))).toEqual([
      ["star-and-coordinates", 2, 1, "star"],
    ]);
  });

  it.each([
    ["pressureHPa", "29.92", "out-of-range"],
    ["pressureHPa", "900,5", "wrong-field-count"],
    ["temperatureC", "285", "out-of-range"],
    ["temperatureC", "warm", "not-a-number"],
    ["centringArcmin", "0", "out-of-range"],
    ["centringArcmin", "1e1", "not-a-number"],
    ["side", "east", "unknown-choice"],
    ["side", "constructor", "unknown-choice"],
    ["hourAngleApproach", "west", "unknown-choice"],
    ["use", "perhaps", "unknown-choice"],
    ["zeroSet", "x".repeat(61), "text-too-long"],
    ["note", "x".repeat(2001), "text-too-long"],
    ["note", "a\u0007b", "unreadable-row"],
  ])("refuses %s %.20s as %s", (column, value, code) => {
    expect(faultsOf(file(`${HEADER},${column}`, `${CANOPUS},${value}`)).map((fault) => fault.code)).toEqual([
      code,
    ]);
  });

  it.each([
    ["nothing", "", "empty-file"],
    ["blanks", " \n\n", "empty-file"],
    ["comments", "# night\n", "no-header"],
    ["bars", "time|star|hourAngle|declination\n", "wrong-separator"],
    ["JSON", '{ "name": "Nowhere School" }', "not-csv"],
    ["a picture", "\uFFFDPNG\r\n\u001a\n\u0000\u0000\u0000\rIHDR", "not-text"],
    ["a zip", "PK\u0003\u0004", "not-text"],
    ["UTF-16", [...HEADER].map((letter) => `${letter}\u0000`).join(""), "not-text"],
    ["no star", "time,hourAngle,declination\n", "missing-column"],
    ["one coordinate", "time,raDeg,hourAngle,declination\n", "missing-column"],
    ["no readings", "time,star\n", "missing-column"],
    ["a column twice", `${HEADER},star\n`, "repeated-column"],
    ["a strange column", `${HEADER},magnitude\n`, "unknown-column"],
    ["a row in place of the header", `${CANOPUS}\n`, "unknown-column"],
    ["a header of one long line", "x".repeat(30_000), "unreadable-row"],
  ])("of %s is refused in a sentence", (_, text, code) => {
    const faults = faultsOf(text);
    expect(faults[0]).toMatchObject({ code, file: "night.csv" });
    expect(faults.length).toBeLessThan(7);
  });

  it("names the column that was meant", () => {
    const faults = faultsOf(file("time,star,hourAngel,declination", CANOPUS));
    expect(faults.map(({ code }) => code)).toEqual(["unknown-column", "missing-column"]);
    expect(faults[0]!.message).toContain("Did you mean hourAngle?");
  });

  it.each([
    ["time,star,hourAngle,Dec", ["declination"]],
    ["time,star,HA,dec", ["hourAngle", "declination"]],
    ["time,star,hour,declination", ["hourAngle"]],
    // The reading is there: the star's place is what Dec says.
    ["time,raDeg,Dec,hourAngle,declination", ["decDeg"]],
  ])("knows how the readings' names are shortened, where they are lacking: %s", (header, meant) => {
    const told = faultsOf(file(header)).flatMap(
      ({ message }) => /Did you mean (\w+)\?/.exec(message)?.[1] ?? [],
    );
    expect(told).toEqual(meant);
  });

  it("lists fifty faults, says how many more there are, and gives up on a file of faults", () => {
    const rows = (count: number) => file(HEADER, ...Array.from({ length: count }, () => "x,Canopus,1,2"));
    expect(faultsOf(rows(50))).toHaveLength(50);
    expect(faultsOf(rows(60)).at(-1)).toMatchObject({
      code: "more-faults",
      message: "10 more faults are not listed.",
    });
    expect(faultsOf(rows(100_000)).at(-1)).toMatchObject({
      message: "At least 950 more faults are not listed.",
    });
  });

  it("does not let a quotation mark swallow the sighting that follows", () => {
    const text = file(`${HEADER},note`, `${CANOPUS},"bad seeing`, `${ACHERNAR},12"`);
    expect(placesOf(text)).toEqual([
      ["unreadable-row", 2, 1, undefined],
      ["unreadable-row", 3, 2, undefined],
    ]);
  });
});

describe("a night file that was cut short", () => {
  it.each([
    ["in the time", "2026-03-14T19:2"],
    ["in a reading", "2026-03-14T19:25:40Z,Achernar,31"],
    ["in a quoted note", '2026-03-14T19:25:40Z,Achernar,3121,-1591,"thin'],
    ["in NULs that a power cut leaves", "\u0000\u0000\u0000\u0000"],
  ])("%s opens without the torn line, and says so", (_, torn) => {
    const { night, warnings } = readNight(
      `${file(`${HEADER},note`, `${CANOPUS},`)}${torn}`,
      mount,
      "night.csv",
    );
    expect(night.sightings).toHaveLength(1);
    expect(warnings).toMatchObject([{ code: "torn-line", line: 3, file: "night.csv" }]);
    // And again after the journal has gone on below it.
    const onward = readNight(
      `${file(`${HEADER},note`, `${CANOPUS},`)}${torn}\n# cut short: the line above had no end when the next one was written.\n${ACHERNAR},\n`,
      mount,
    );
    expect(onward.night.sightings.map(({ row, star }) => [row, star])).toEqual([
      [1, "Canopus"],
      [2, "Achernar"],
    ]);
    expect(onward.warnings).toMatchObject([{ code: "torn-line", line: 3 }]);
  });

  it("behind a whole row reads the row, and asks to check it", () => {
    const { night, warnings } = readNight(`${HEADER}\n${CANOPUS}`, mount);
    expect(night.sightings).toHaveLength(1);
    expect(warnings).toMatchObject([{ code: "last-line-without-end", line: 2, row: 1 }]);
    const onward = readNight(`${HEADER}\n${CANOPUS}\n# cut short: x\n${ACHERNAR}\n`, mount);
    expect(onward.night.sightings).toHaveLength(2);
    expect(onward.warnings).toMatchObject([{ code: "last-line-without-end", line: 2, row: 1 }]);
  });

  it("at every byte of its last row opens with all the rows before", () => {
    const last = `${ACHERNAR},"thin, ""cloud"""\n`;
    for (let cut = 0; cut <= last.length; cut++) {
      const { night, warnings } = readNight(
        file(`${HEADER},note`, `${CANOPUS},`) + last.slice(0, cut),
        mount,
      );
      expect(night.sightings[0]).toMatchObject({ star: "Canopus" });
      expect(night.sightings.length + warnings.length).toBe(
        cut === 0 ? 1 : cut < last.length ? (night.sightings.length === 2 ? 3 : 2) : 2,
      );
    }
  });
});

describe("taking a sighting back", () => {
  const text = file(HEADER, CANOPUS, ACHERNAR, CANOPUS);

  it("keeps it in the list, out of use", () => {
    const line = withdrawalLine(text, mount, 2)!;
    expect(line).toBe(`# withdrawn: ${ACHERNAR}`);
    const { night, warnings } = readNight(`${text}${line}\n`, mount);
    expect(night.sightings.map(({ row, use, note }) => [row, use, note])).toEqual([
      [1, true, ""],
      [2, false, "withdrawn"],
      [3, true, ""],
    ]);
    expect(warnings.map(({ code }) => code)).toEqual(["repeated-row"]);
  });

  it("takes the latest of two that are the same, then the other", () => {
    const line = withdrawalLine(text, mount, 3)!;
    const used = (withdrawals: number) =>
      readNight(text + `${line}\n`.repeat(withdrawals), mount).night.sightings.map(({ use }) => use);
    expect(used(1)).toEqual([true, true, false]);
    expect(used(2)).toEqual([false, true, false]);
    expect(readNight(text + `${line}\n`.repeat(3), mount).warnings.map(({ code }) => code)).toEqual([
      "withdrawal-without-sighting",
    ]);
  });

  it("works when lines have moved, and when a spreadsheet has put its commas and quotation marks in", () => {
    const moved = file(
      HEADER,
      `# withdrawn: ${ACHERNAR},,`,
      ACHERNAR,
      `"# withdrawn: ${CANOPUS}",,,`,
      CANOPUS,
    );
    expect(readNight(moved, mount)).toMatchObject({
      warnings: [],
      night: { sightings: [{ use: false }, { use: false }] },
    });
  });

  it("repeats a note over several lines on one", () => {
    const long = file(`${HEADER},note`, `${CANOPUS},"first, ""x""`, 'second"');
    const line = withdrawalLine(long, mount, 1)!;
    expect(line).not.toContain("\n");
    expect(readNight(`${long}${line}\n`, mount)).toMatchObject({
      warnings: [],
      night: { sightings: [{ use: false }] },
    });
  });

  it("gives nothing for a row that is not there", () => {
    expect(withdrawalLine(text, mount, 4)).toBeNull();
  });

  it("leaves a file that a plain CSV reader can still read", () => {
    const whole = `${text}${withdrawalLine(text, mount, 2)}\n`;
    // csv-parse is the other reader.
    expect(parse(whole, { columns: true, comment: "#" })).toHaveLength(3);
  });
});

describe("a sighting that a program gives", () => {
  const given: SightingFields = {
    time: "2026-03-14T19:22:10Z",
    star: "Canopus",
    hourAngle: 1877,
    declination: -1460,
  };

  it("is checked like a row", () => {
    expect(makeSighting(given, mount, 3)).toMatchObject({
      row: 3,
      line: null,
      star: "Canopus",
      hourAngle: 1877,
    });
    expect(makeSighting({ ...given, time: new Date(0) }, mount, 1)).toMatchObject({
      time: "1970-01-01T00:00:00Z",
      timeMs: 0,
    });
    expect(
      makeSighting({ ...given, hourAngleApproach: -1, declinationApproach: "+" }, mount, 1),
    ).toMatchObject({
      hourAngleApproach: -1,
      declinationApproach: 1,
    });
  });

  it.each<[string, object, string[]]>([
    ["no zone", { time: "2026-03-14T19:22:10" }, ["time-without-zone"]],
    ["an invalid Date", { time: new Date(Number.NaN) }, ["time-not-iso"]],
    ["a misspelt star", { star: "Canopuss" }, ["unknown-star"]],
    ["NaN", { hourAngle: Number.NaN }, ["unreadable-reading"]],
    ["infinity", { declination: Number.NEGATIVE_INFINITY }, ["unreadable-reading"]],
    ["half a count", { hourAngle: 1.5 }, ["counts-not-whole"]],
    ["a strange field", { hourAngel: 3 }, ["unknown-column"]],
    ["an object", { note: {} }, ["wrong-type"]],
    [
      "several",
      { time: "", hourAngle: "x", star: undefined },
      ["missing-value", "unreadable-reading", "missing-value"],
    ],
  ])("with %s is refused", (_, change, codes) => {
    try {
      makeSighting({ ...given, ...change } as SightingFields, mount, 1);
      expect.unreachable();
    } catch (problem) {
      expect((problem as InputError).faults.map(({ code }) => code)).toEqual(codes);
    }
  });

  it("is written into the columns that the file has", () => {
    expect(sightingLine(given, ["declination", "", "time", "star", "note", "hourAngle"])).toBe(
      "-1460,,2026-03-14T19:22:10Z,Canopus,,1877",
    );
    expect(() => sightingLine({ ...given, note: "x" }, ["time", "star", "hourAngle", "declination"])).toThrow(
      /no column note/,
    );
  });

  it("reads back from its line as it was given, whatever its texts hold", () => {
    const text = fc.string({ maxLength: 50, unit: fc.constantFrom(..."ab ,\"'#=+-@;\n\r\t\u0000\u2028′µ") });
    const fields = fc.record(
      {
        time: fc.integer({ min: 0, max: 4_000_000_000_000 }).map((ms) => new Date(ms)),
        star: fc.constantFrom("Canopus", "α Car", "HIP 30438", "Rigil Kentaurus"),
        hourAngle: fc.integer({ min: -1e9, max: 1e9 }),
        declination: fc.integer({ min: -1e9, max: 1e9 }),
        pressureHPa: fc.double({ min: 300, max: 1100, noNaN: true }),
        temperatureC: fc.double({ min: -80, max: 60, noNaN: true }),
        centringArcmin: fc.double({ min: 1e-9, max: 600, noNaN: true }),
        zeroSet: text,
        note: text,
        side: fc.constantFrom("normal", "beyond"),
        use: fc.boolean(),
        hourAngleApproach: fc.constantFrom(1, -1, "+", "-"),
      },
      { requiredKeys: ["time", "star", "hourAngle", "declination"] },
    ) as fc.Arbitrary<SightingFields>;
    const columns = fc.shuffledSubarray([...sightingColumns], { minLength: sightingColumns.length });
    fc.assert(
      fc.property(fields, columns, (one, header) => {
        const line = sightingLine(one, header);
        expect(line).not.toMatch(/[\n\r]/);
        const { night, warnings } = readNight(file(header.join(","), line), mount);
        expect(warnings).toEqual([]);
        const { line: _, ...read } = night.sightings[0]!;
        // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters become blanks in the file
        const plain = (written = "") => written.replace(/[\u0000-\u001f\u2028]+/g, " ").trim();
        const { line: __, ...made } = makeSighting(one, mount, 1);
        const TINY = 1e-15; // fifteen decimals are written of a number that JavaScript would show with an exponent
        expect(read).toEqual({
          ...made,
          note: plain(one.note),
          zeroSet: plain(one.zeroSet),
          centringArcmin: read.centringArcmin,
          temperatureC: read.temperatureC,
        });
        expect(Math.abs((read.centringArcmin ?? 0) - (one.centringArcmin ?? 0))).toBeLessThanOrEqual(TINY);
        expect(Math.abs((read.temperatureC ?? 0) - (one.temperatureC ?? 0))).toBeLessThanOrEqual(TINY);
      }),
      { seed: SEED, numRuns: 1000 },
    );
  });
});

describe("the lines of a CSV", () => {
  it("are taken apart as csv-parse takes the whole file apart", () => {
    const field = fc
      .string({ maxLength: 8, unit: fc.constantFrom(..."ab ,\"'\n;1") })
      .map((text) => text.trim());
    const quoted = (text: string) => (/[",\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
    const table = fc.array(fc.array(field, { minLength: 2, maxLength: 5 }), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(table, fc.constantFrom("\n", "\r\n"), (rows, end) => {
        const text = rows.map((row) => row.map(quoted).join(",") + end).join("");
        // csv-parse, given the whole file, is the reference; rows without any text are passed over here.
        const whole: string[][] = parse(text, {
          relax_column_count: true,
          record_delimiter: end,
          skip_empty_lines: true,
        });
        const expected = whole.filter((row) => row.some((value) => value.trim() !== ""));
        const found = [...csvLines(text, ",", () => false)];
        expect(found.map(({ problem }) => problem)).toEqual(expected.map(() => null));
        expect(found.map(({ fields }) => fields)).toEqual(expected);
      }),
      { seed: SEED, numRuns: 2000 },
    );
  });

  it("have fields that read back as they were, on one line", () => {
    fc.assert(
      fc.property(fc.array(fc.string(), { minLength: 2, maxLength: 4 }), (values) => {
        const line = values.map((value) => csvField(value)).join(",");
        const [row = []] = parse(line, { relax_column_count: true }) as string[][];
        // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters become blanks in the file
        const plain = values.map((value) => value.replace(/[\u0000-\u001f\u007f\u2028\u2029]+/g, " ").trim());
        expect(plain.every((value) => value === "") || row).toEqual(
          plain.every((value) => value === "") || plain,
        );
      }),
      { seed: SEED, numRuns: 2000 },
    );
  });
});

describe("a spoilt night file", () => {
  const good = file(
    "# night",
    `${HEADER},zeroSet,use,note`,
    `${CANOPUS},,,`,
    `${ACHERNAR},second,yes,"thin, ""cloud"""`,
    "2026-03-14T19:29:00Z,Sirius,100,-700,,no,",
    `# withdrawn: ${CANOPUS},,,`,
  );

  it("gives a night or faults with their places, and never anything else", () => {
    const piece = fc.oneof(
      fc.constantFrom(
        "",
        ",",
        '"',
        "\n",
        "\r",
        "#",
        ";",
        "\u0000",
        "\uFEFF",
        "−",
        '""',
        "# cut short:\n",
        "1e5",
        "=1+1",
        "x".repeat(3000),
      ),
      fc.string({ maxLength: 6 }),
    );
    const edits = fc.array(fc.tuple(fc.nat(good.length), fc.nat(20), piece), { minLength: 1, maxLength: 4 });
    fc.assert(
      fc.property(edits, (changes) => {
        const text = changes.reduce(
          (now, [at, length, put]) => now.slice(0, at) + put + now.slice(at + length),
          good,
        );
        for (const fault of faultsOf(text)) {
          const isOfWholeFile = [
            "empty-file",
            "not-text",
            "wrong-separator",
            "not-csv",
            "no-header",
            "more-faults",
          ].includes(fault.code);
          expect(fault.line !== undefined || isOfWholeFile, JSON.stringify(fault)).toBe(true);
          expect(fault.file).toBe("night.csv");
          expect(fault.message).not.toBe("");
          expect(fault.allowed).not.toBe("");
        }
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });

  it("of any bytes is refused or read", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), fc.boolean(), (bytes, withHeader) => {
        const text = (withHeader ? `${HEADER}\n` : "") + Buffer.from(bytes).toString("utf8");
        for (const fault of faultsOf(text)) expect(fault.message).not.toBe("");
      }),
      { seed: SEED, numRuns: 2000 },
    );
  });

  it("still tells its columns", () => {
    expect(readNightHeader(file("# x", HEADER, "a,b")).names).toEqual(HEADER.split(","));
    expect(() => readNightHeader("# x\n")).toThrow(InputError);
  });

  // Sizes, not times: these end quickly or the run's own limit of time fails them.
  it.each([
    ["a line of fifty million characters", () => "q".repeat(50_000_000)],
    ["a row of fifty million commas", () => `${HEADER}\n1${",".repeat(50_000_000)}\n`],
    ["many million quotation marks", () => `${HEADER}\n${'"\n'.repeat(5_000_000)}`],
    ["many million open quotation marks", () => `${HEADER}\n${'a,"b\n'.repeat(5_000_000)}`],
    ["many million wrong rows", () => `${HEADER}\n${"2026-03-14T19:22:10Z,Nostar,1,2\n".repeat(1_500_000)}`],
  ])("of %s is refused with few faults", (_, make) => {
    const faults = faultsOf(make());
    expect(faults.length).toBeGreaterThan(0);
    expect(faults.length).toBeLessThan(52);
    expect(faults.every((fault) => JSON.stringify(fault).length < 2000)).toBe(true);
  });

  it("of a hundred thousand right rows is read", () => {
    const rows = Array.from(
      { length: 100_000 },
      (_, n) => `${new Date(n * 1000).toISOString()},Canopus,${n},-1460,"${n}"`,
    );
    expect(readNight(file(`${HEADER},note`, ...rows), mount).night.sightings).toHaveLength(100_000);
  });
});
