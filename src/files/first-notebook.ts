/** The notebook that a new folder starts with: one night's work, cell by cell (nbformat 4.5). */

interface Cell {
  readonly type: "markdown" | "code";
  readonly id: string;
  readonly text: string;
}

const cells: readonly Cell[] = [
  {
    type: "markdown",
    id: "purpose",
    text: `# First night

From star sightings to turns of the levelling jacks. Before the first cell: put your own figures into \`mount.json\`. Those
in it belong to an invented school.

**Take care.** Never sight or sweep within 30° of the Sun. Keep mains leads and power supplies out of the dew, behind a
residual-current device. Before you turn a jack: tube parked, axes locked, drive power off, cables slack, cribbing under
the frame, nothing and nobody under it, two people.`,
  },
  {
    type: "code",
    id: "open-night",
    text: `import { fitMount, jackTurns, openNight, plots, show } from "polewright";
const night = openNight(".");
night`,
  },
  {
    type: "markdown",
    id: "how-to-sight",
    text: `## Sightings

Centre a star, read both axes, enter it. The line is in \`night.csv\` before the cell ends. Six stars spread over the sky
give a first answer. Take the slashes away and put in what you read:`,
  },
  {
    type: "code",
    id: "sight-stars",
    text: `// night.sight("Achernar", { hourAngle: 3121, declination: -1591 });
// night.sight("Canopus", { hourAngle: 1877, declination: -1460 }, { at: "2026-03-14T19:22:10Z" });`,
  },
  {
    type: "markdown",
    id: "how-it-stands",
    text: `## How the mount stands

Once there are sightings, take the slashes away here too.`,
  },
  {
    type: "code",
    id: "fit-mount",
    text: `// const fit = fitMount(night);
// show(fit);
// show(plots.residualSky(fit));`,
  },
  {
    type: "markdown",
    id: "how-to-turn",
    text: `## Which jacks to turn

Read the cautions that come with the turns, every time.`,
  },
  {
    type: "code",
    id: "turn-jacks",
    text: `// show(jackTurns(fit));`,
  },
];

/**
 * The text of the first notebook.
 *
 * @returns JSON (nbformat 4.5) for the kernel `polewright`
 */
export function firstNotebookText(): string {
  const notebook = {
    cells: cells.map(({ type, id, text }) => ({
      cell_type: type,
      ...(type === "code" ? { execution_count: null } : {}),
      id,
      metadata: {},
      ...(type === "code" ? { outputs: [] } : {}),
      source: sourceLines(text),
    })),
    metadata: {
      kernelspec: { display_name: "Polewright (TypeScript)", language: "typescript", name: "polewright" },
      language_info: { file_extension: ".ts", mimetype: "text/typescript", name: "typescript" },
    },
    nbformat: 4,
    nbformat_minor: 5,
  };
  return `${JSON.stringify(notebook, null, 1)}\n`;
}

/** nbformat keeps a cell's text as lines with their ends. */
function sourceLines(text: string): string[] {
  return text.split(/(?<=\n)/);
}
