/**
 * What there is to see of a target, for someone who looks for the first time.
 */
import type { Target } from "./target.js";

/** By what the object is, as the lists of objects call it. */
const ofKind: Readonly<Record<string, string>> = {
  "open cluster": "A loose group of stars. Count those that you can see apart.",
  "globular cluster": "A round ball of very many faint stars. See how far from its middle single stars show.",
  galaxy: "A faint, soft glow: the light of very many suns. Look a little beside it, and it grows brighter.",
  nebula: "A cloud of glowing gas. Look for its edges and for the stars inside it.",
  "planetary nebula": "The gas of a dying star: a small disc or ring. Find out whether its middle is darker.",
  "supernova remnant": "What is left of a star that blew up: a faint cloud without a sharp edge.",
  "star group": "A pattern of a few stars. Draw how they stand to each other.",
  "dark nebula": "Dust before the stars behind it: look for the place where stars are missing.",
};

const ofName: Readonly<Record<string, string>> = {
  Moon: "Along the line between light and dark the mountains throw long shadows. Draw one crater.",
  Mercury: "A small disc that is never wholly lit. Find out which side is bright.",
  Venus: "It shows phases as the Moon does. Draw how much of it is lit.",
  Mars: "A small reddish disc. Look for a darker patch or a white cap.",
  Jupiter: "Up to four moons stand in a line beside it. Draw where each of them stands.",
  Saturn: "A ring goes round it. Look for its brightest moon beside it.",
  Uranus: "A very small greenish disc among points of stars.",
  Neptune: "A very small bluish disc among points of stars.",
};

/**
 * One plain sentence or two of what to look for.
 *
 * @example
 * ```ts
 * lookFor(targetNamed("M 13")) // "A round ball of very many faint stars. …"
 * ```
 */
export function lookFor(target: Target): string {
  if (target.kind === "star") {
    return target.description.includes("variable")
      ? "A star that changes its brightness. Compare it with the stars beside it."
      : "A single point of light. Say which colour it has.";
  }
  return (
    ofName[target.label] ??
    ofKind[target.description] ??
    "See what stands in the middle of the field, and draw it."
  );
}
