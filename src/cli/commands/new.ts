import { createFolder } from "../../files/new-folder.js";

/** `polewright new FOLDER`. */
export function newCommand(folder: string): void {
  const paths = createFolder(folder);
  process.stdout.write(
    [
      "Made:",
      ...paths.map((path) => `  ${path}`),
      "",
      "Next: put your own figures into mount.json (those in it belong to an invented",
      "school), then open the notebook, or enter sightings in night.csv and call",
      `polewright fit ${folder}/night.csv`,
      "",
    ].join("\n"),
  );
}
