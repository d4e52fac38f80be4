/** The page of the wrong telescope: for a class, with errors to be given by hand and riddles. */
import { InputError, shown } from "../errors.js";
import { filledPage, type PageParts, type PageTheme, type WholePage } from "./page-text.js";

/** How high the page stands in a notebook, pixels. */
const HEIGHT_PX = 1100;
/** Nearer to a pole of the Earth no slider goes. */
const FARTHEST_LATITUDE = 85;

/**
 * The page on which a class gives a telescope its errors.
 *
 * @param latitude - degrees, north positive; where the page begins
 * @param parts - what the build made for pages
 * @param theme - the colours that it has at first
 * @throws {@link InputError} `latitude-out-of-range`
 */
export function wrongTelescopePage(latitude: number, parts: PageParts, theme: PageTheme): WholePage {
  if (!(Math.abs(latitude) <= FARTHEST_LATITUDE)) {
    throw new InputError({
      code: "latitude-out-of-range",
      found: shown(latitude),
      allowed: `degrees from −${FARTHEST_LATITUDE} to ${FARTHEST_LATITUDE}, north positive`,
      message: "The page has no sky there.",
    });
  }
  const title = "The wrong telescope";
  return {
    title,
    html: filledPage(parts("wrong-telescope.html"), title, { latitude }, theme),
    summary: `${title}: a page with a slider for each error, arrows on the sky and a drawing of the mount.`,
    heightPx: HEIGHT_PX,
  };
}
