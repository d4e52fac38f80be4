import { inspect } from "node:util";
import { expect, test } from "vitest";
import { printable } from "../../src/answers/printable.js";
import { textOf } from "../../src/notebook/display.js";
import { isRecords, tableReport } from "../../src/notebook/table.js";

test("a result prints as its report, and stays plain data", () => {
  const report = { title: "How it stands", blocks: [{ kind: "sentence", text: "It stands." }] } as const;
  const result = printable({ value: 1 }, () => report);
  // console.log, with which a kernel prints a cell's last expression, prints what inspect gives (Node.js documentation).
  expect(inspect(result)).toBe("How it stands\n=============\n\nIt stands.");
  expect(JSON.stringify(result)).toBe('{"value":1}');
  expect(Object.keys(result)).toEqual(["value"]);
  expect({ ...result }).toEqual({ value: 1 });
  expect(inspect({ ...result })).toBe("{ value: 1 }");
  expect(textOf(result)).toBe(inspect(result));
});

test("records become a table with numbers to the right", () => {
  const records = [
    { star: "Rigel", altitude: 41.2345, row: 1 },
    { star: "Sirius", altitude: -0.00012345, row: 2 },
  ];
  expect(isRecords(records)).toBe(true);
  expect([isRecords([]), isRecords([1]), isRecords([[1]]), isRecords("x")]).toEqual([
    false,
    false,
    false,
    false,
  ]);
  const [table] = tableReport("Stars", records).blocks;
  expect(table).toMatchObject({
    head: ["star", "altitude", "row"],
    align: ["left", "right", "right"],
    rows: [
      ["Rigel", "41.23", "1"],
      ["Sirius", "−0.000123", "2"],
    ],
  });
});
