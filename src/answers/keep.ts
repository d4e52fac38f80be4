/** Keeps a night's model for other nights. */
import { type KeptModel, keepModel, keptModelText, meanTemperature } from "../keep/keep.js";
import { block, type Report } from "../report/report.js";
import { question } from "./answer.js";
import { inFile } from "./given.js";
import { nightAndFit, nightOptions, nightPlace } from "./night.js";
import { needed, text } from "./takes.js";

/** `polewright keep NIGHT.csv --out MODEL.json`. */
export const keep = question({
  name: "keep",
  asks: "keep a night's model for other nights",
  example: 'polewright keep my-telescope/night.csv --out kept.json --note "after the second round"',
  takes: {
    night: nightPlace,
    ...nightOptions,
    out: needed(text("file", "the file to write")),
    note: text("text", "what to remember of it"),
  },
  ask({ night, out, note, ...options }, read) {
    const found = nightAndFit(night, options, read);
    const kept = inFile(night, () => keepModel(found.fit, note, meanTemperature(found.night)));
    return { fit: found.fit, out, kept };
  },
  say: ({ kept, out }) => [keptReport(kept, out)],
  json: ({ kept, out }) => ({ file: out, model: kept }),
  notes: ({ fit }) => fit.notes,
  writes: ({ kept, out }) => [{ path: out, text: keptModelText(kept), kind: "kept model", option: "--out" }],
});

function keptReport(kept: KeptModel, out: string): Report {
  return {
    title: `A model kept of ${kept.mount}`,
    blocks: [block.verdict(`The model is kept in ${out}`)],
  };
}
