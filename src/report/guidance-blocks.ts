/** What must be known with readings, lists and plans: what is grave as a caution. */
import { type Guidance, isGrave } from "../pointing/guidance.js";
import { noteText } from "../words/notes.js";
import type { Block } from "./report.js";

export function guidanceBlocks(notes: readonly Guidance[]): Block[] {
  return notes.map((note) => ({
    kind: "sentence",
    text: noteText(note),
    tone: isGrave(note) ? "caution" : "plain",
  }));
}
