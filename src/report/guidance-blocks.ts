/** What must be known with readings, lists and plans: what is grave as a caution. */
import { type Guidance, isGrave } from "../pointing/guidance.js";
import { noteText } from "../words/notes.js";
import { type Block, block } from "./report.js";

export function guidanceBlocks(notes: readonly Guidance[]): Block[] {
  return notes.map((note) => block.toned(noteText(note), isGrave(note) ? "caution" : "plain"));
}
