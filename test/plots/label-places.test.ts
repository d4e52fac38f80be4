/** Where labels go: no source but what can be seen; the widths are those of a sans-serif font, measured roughly. */
import { expect, it } from "vitest";
import { planStars } from "../../src/plan/plan.js";
import { DISH_RADIUS_PX, dishPoint, dishWords } from "../../src/plots/dish.js";
import type { Point } from "../../src/plots/drawing.js";
import { type Label, type LabelPlace, labelPlaces, namesOrNumbers } from "../../src/plots/label-places.js";
import { parseTime } from "../../src/sky/time.js";
import { nowhereSchool } from "../support/nowhere-school-evening.js";

const SIZES = { unitPx: DISH_RADIUS_PX, fontPx: 14, markerPx: 9 };

/** Corners that share so many square pixels still read. */
const TOUCHING_PX = 4;

/** The rectangle of a text with letters half as wide as the font is high, as far from its mark as plotly puts it: left, right, top, bottom. */
function rectangle([x, y]: Point, text: string, place: LabelPlace) {
  const [cx, cy] = [x * SIZES.unitPx, -y * SIZES.unitPx];
  const [wide, high, off] = [text.length * 7, 14, 6.6];
  const left = place.includes("left") ? cx - off - wide : place.includes("right") ? cx + off : cx - wide / 2;
  const top = place.includes("top") ? cy - off - high : place.includes("bottom") ? cy + off : cy - high / 2;
  return [left, left + wide, top, top + high] as const;
}

function clashes(labels: readonly Label[], places: readonly LabelPlace[]): string[] {
  const boxes = labels.map(({ point, text }, i) => ({ text, box: rectangle(point, text, places[i]!) }));
  return boxes.flatMap((a, i) =>
    boxes
      .slice(i + 1)
      .filter(({ box }) => {
        const wide = Math.min(a.box[1], box[1]) - Math.max(a.box[0], box[0]);
        const high = Math.min(a.box[3], box[3]) - Math.max(a.box[2], box[2]);
        return wide > 0 && high > 0 && wide * high > TOUCHING_PX;
      })
      .map((b) => `${a.text} × ${b.text}`),
  );
}

it("a lone label goes inwards and up", () => {
  expect(labelPlaces([{ point: [0.5, 0], text: "Vega" }], SIZES)).toEqual(["top left"]);
  expect(labelPlaces([{ point: [-0.5, 0], text: "Vega" }], SIZES)).toEqual(["top right"]);
  expect(labelPlaces([], SIZES)).toEqual([]);
});

it("labels of stars close together keep clear of each other, where the old places did not", () => {
  const labels: Label[] = ["8 Miaplacidus", "9 θ Car", "10 Acrux", "2 γ Hyi"].map((text, i) => ({
    text,
    point: [[0.14, -0.48] as const, [0.26, -0.48] as const, [0.34, -0.57] as const, [-0.13, -0.53] as const][
      i
    ]!,
  }));
  const plain = labels.map(({ point }): LabelPlace => (point[0] > 0 ? "top left" : "top right"));
  expect(clashes(labels, plain).length).toBeGreaterThan(0);
  expect(clashes(labels, labelPlaces(labels, SIZES))).toEqual([]);
});

it("on planned evenings no word covers another or the pole's: names, or numbers where names would", () => {
  for (const time of ["2026-03-14T18:30:00Z", "2026-06-20T18:30:00Z", "2026-09-14T18:52:00Z"]) {
    const plan = planStars(nowhereSchool, parseTime(time), { stars: 12 });
    const labels = plan.stars.map((star) => ({
      point: dishPoint(star.azimuthDeg, star.altitudeDeg),
      text: `${star.place} ${star.star}`,
    }));
    const words = dishWords(nowhereSchool.site.latitude);
    const { text, textposition } = namesOrNumbers(labels, SIZES, words).wordsOf(labels.map((_, k) => k));
    const drawn = labels.map(({ point }, k) => ({ point, text: text[k]! }));
    expect(
      clashes([...drawn, ...words], [...textposition, ...words.map(({ place }) => place)]),
      time,
    ).toEqual([]);
    if (time.startsWith("2026-03")) expect(text).toEqual(labels.map((label) => label.text));
  }
});

it("names that would cover each other become numbers: first on a telephone, in a crowd everywhere", () => {
  const at = (...points: Point[]) => points.map((point, index) => ({ point, text: `NGC 329${index}` }));
  const words = (labels: readonly Label[]) => {
    const { wordsOf, numbered } = namesOrNumbers(labels, SIZES, []);
    const { text, meta } = wordsOf([1, 0]);
    return { wide: text, narrow: meta.narrow.text, numbered };
  };
  const names = ["NGC 3291", "NGC 3290"];
  expect(words(at([0.5, 0], [-0.5, 0]))).toEqual({ wide: names, narrow: names, numbered: false });
  const near = at(...Array.from({ length: 12 }, (_, k): Point => [0.33 * (k % 2), 0.1 * Math.floor(k / 2)]));
  expect(words(near)).toEqual({ wide: names, narrow: ["2", "1"], numbered: true });
  const crowd = Array.from({ length: 16 }, (_, k): Point => [0.06 * (k % 4), 0.06 * Math.floor(k / 4)]);
  expect(words(at(...crowd))).toEqual({ wide: ["2", "1"], narrow: ["2", "1"], numbered: true });
});
