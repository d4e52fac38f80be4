import { place } from "../../answers/takes.js";
import { createFolder } from "../../files/new-folder.js";
import { plainText } from "../../words/escape.js";
import { deed } from "../deed.js";

/** `polewright new FOLDER`. */
export const newFolder = deed({
  name: "new",
  asks: "make a folder ready for a first night: mount.json, night.csv and a notebook",
  example: "polewright new my-telescope",
  takes: { folder: place("folder", "the folder to make") },
  run({ folder }) {
    const paths = createFolder(folder);
    const lines = [
      "Made:",
      ...paths.map((path) => `  ${path}`),
      "",
      "Next: put your own figures into mount.json (those in it belong to an invented",
      "school), then open the notebook, or enter sightings in night.csv and call",
      `polewright fit ${folder}/night.csv`,
      "",
    ];
    process.stdout.write(plainText(lines.join("\n")));
  },
});
