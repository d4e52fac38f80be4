/** Ways in which a file is spoilt. */
import fc from "fast-check";

/** What a hurried hand, another program or a bad disk puts into a file. */
const tokens = [
  ..."0123456789+-.,:;\"'{}[]()#/\\TZ \t\n\r",
  "\r\n",
  "\n\n",
  "\uFEFF",
  "\u0000",
  "\u2028",
  "\u202e",
  "−",
  "°",
  "′",
  "½",
  "é",
  "\ud800",
  "🔭",
  "\u0301",
  "NaN",
  "Infinity",
  "-Infinity",
  "null",
  "true",
  "1e308",
  "-1e308",
  "1e-320",
  "1e999",
  "9007199254740993",
  "-0",
  "0x10",
  "1_000",
  "1,5",
  "__proto__",
  "constructor",
  "toString",
  '"__proto__":{"x":1},',
  "[]",
  "{}",
  "[[[[[[",
  '"a":',
  ",,",
  "=1+1",
  "@x",
  "<b>",
  "%s",
  // biome-ignore lint/suspicious/noTemplateCurlyInString: the placeholder is the point
  "${1}",
  "Sirius",
  "sirius",
  "HIP 32349",
  "Polaris",
  "α Cen",
  "Sigma Octantis",
  "nobody",
  "yes",
  "no",
  "beyond",
  "normal",
  "a,b",
  "use",
  "zeroSet",
  "2026-03-14T19:22:10Z",
  "2026-02-30T00:00:00Z",
  "2016-12-31T23:59:60Z",
  "1900-01-01T00:00:00Z",
  "2100-12-31T23:59:59.999+14:00",
  "2026-03-14T19:22:10",
  "0000-00-00T00:00Z",
  "+275760-09-13T00:00:00Z",
  "90",
  "-90",
  "180",
  "360",
  "24",
  "16384",
  "-1",
  "0.0001",
  "999999999999",
  "counts",
  "degrees",
  "hours",
  "rightAscension",
  "sin(hourAngle)",
  "1/0",
  "# withdrawn: ",
  "# cut short: ",
] as const;

/** One edit: at a place (a part of the text's length), of so many characters, with a token. */
export const edit = fc.record({
  kind: fc.constantFrom(
    "insert",
    "replace",
    "delete",
    "copy line",
    "drop line",
    "swap lines",
    "cut",
    "value",
    "column",
  ),
  at: fc.double({ min: 0, max: 1, noNaN: true }),
  to: fc.double({ min: 0, max: 1, noNaN: true }),
  length: fc.integer({ min: 1, max: 12 }),
  token: fc.constantFrom(...tokens),
});
export type Edit = typeof edit extends fc.Arbitrary<infer Value> ? Value : never;

export function spoil(text: string, { kind, at, to, length, token }: Edit): string {
  const place = Math.floor(at * text.length);
  const lines = (): string[] => text.split("\n");
  const lineAt = (part: number): number => Math.min(lines().length - 1, Math.floor(part * lines().length));
  switch (kind) {
    case "insert":
      return text.slice(0, place) + token + text.slice(place);
    case "replace":
      return text.slice(0, place) + token + text.slice(place + length);
    case "delete":
      return text.slice(0, place) + text.slice(place + length);
    case "cut":
      return text.slice(0, place);
    case "copy line":
      return lines().toSpliced(lineAt(to), 0, lines()[lineAt(at)]!).join("\n");
    case "drop line":
      return lines().toSpliced(lineAt(at), 1).join("\n");
    case "swap lines": {
      const swapped = lines();
      const [a, b] = [lineAt(at), lineAt(to)];
      [swapped[a], swapped[b]] = [swapped[b]!, swapped[a]!];
      return swapped.join("\n");
    }
    case "value": {
      // A whole value of JSON, or a whole field of CSV, so that many cases get past the grammar.
      const values = [
        ...text.matchAll(/(?<=[:[,]\s*)-?[\d.]+(?=\s*[,\]}\n])|"[^"\n]*"(?=\s*[,\]}])|(?<=,)[^,"\n]+/g),
      ];
      const value = values[Math.floor(at * values.length)];
      if (value === undefined) return text;
      return text.slice(0, value.index) + token + text.slice(value.index + value[0].length);
    }
    case "column": {
      const extra = [
        "side",
        "zeroSet",
        "tubeSet",
        "use",
        "raDeg",
        "pressureHPa",
        "hourAngleApproach",
        "centringArcmin",
        "note",
      ];
      let first = true;
      return lines()
        .map((line) => {
          if (line === "" || line.startsWith("#")) return line;
          const added = first ? extra[length % extra.length]! : length % 2 === 0 ? token : "";
          first = false;
          return `${line},${added}`;
        })
        .join("\n");
    }
  }
}
