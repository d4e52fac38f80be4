/** The wrong telescope and its riddles as notebooks make them. */
import { printable } from "../answers/printable.js";
import { pagePart } from "../files/page-template.js";
import type { WholePage } from "../page/page-text.js";
import { wrongTelescopePage } from "../page/wrong-telescope.js";
import { block, type Report } from "../report/report.js";
import { type Mystery, type MysteryOptions, mystery as plainMystery } from "../simulate/mystery.js";
import { fixed, signed } from "../words/numbers.js";
import { pageTheme } from "./desk.js";

/**
 * A page for a class: a slider for each error, arrows on the sky that move with it, a drawing of the mount that leans with
 * it, and riddles. `show` puts it into a notebook, where it works without the kernel too.
 *
 * @param options - the class's own latitude, degrees, north positive; 30° south when not given
 * @throws InputError `latitude-out-of-range`
 * @example
 * ```ts
 * wrongTelescope({ latitude: 48 }).title // "The wrong telescope"
 * ```
 */
export function wrongTelescope(options: { readonly latitude?: number } = {}): WholePage {
  return wrongTelescopePage(options.latitude ?? -30, pagePart, pageTheme());
}

/**
 * A riddle for a class: a telescope whose errors come from a pass-word. The same pass-word gives the same riddle in every
 * notebook, and on the page of {@link wrongTelescope}.
 *
 * @param password - any word
 * @param options - `level` 1 to 4 (one error; two; a star that is another one; a clutch that slipped), and the latitude
 * @throws InputError `mystery-password`, `mystery-level`, `latitude-out-of-range`
 * @example
 * ```ts
 * mystery("class-7b", { level: 2 }).guess({ terms: { polarEast: 20 } }).said
 * ```
 */
export function mystery(password: string, options: MysteryOptions = {}): Mystery {
  const riddle = plainMystery(password, options);
  return printable(
    {
      ...riddle,
      guess: (guess) => printable({ ...riddle.guess(guess) }, () => riddle.guess(guess).said),
    } as Mystery,
    () => riddleReport(riddle),
  );
}

const LEVELS = [
  "",
  "one error",
  "two errors",
  "two errors and a wrong star",
  "two errors and a slipped clutch",
];

function riddleReport(riddle: Mystery): Report {
  return {
    title: `Riddle “${riddle.password}”: ${LEVELS[riddle.level]}`,
    blocks: [
      block.sentence(
        "The readings of these stars lie beside the stars as the table says. Which errors has the telescope? Guess with guess({ terms: { … } }); hint() helps.",
      ),
      {
        kind: "table",
        caption: "Reading minus star, arcminutes on the sky",
        head: ["Row", "Star", "Hour angle", "Declination", "West", "North"],
        align: ["right", "left", "right", "right", "right", "right"],
        rows: riddle.stars.map((star) => [
          String(star.row),
          star.star,
          `${fixed(star.hourAngleDeg / 15, 2)} h`,
          `${signed(star.declinationDeg, 1)}°`,
          signed(star.west, 0),
          signed(star.north, 0),
        ]),
      },
    ],
  };
}
