import { questions } from "../../answers/list.js";
import { place, type Take, type Takes } from "../../answers/takes.js";
import { deed } from "../deed.js";
import { answerOptions, dashed } from "../drive.js";

const shells = ["bash", "zsh", "fish"] as const;

/** `polewright completion SHELL`. */
export const completion = deed({
  name: "completion",
  asks: "print what a shell needs to complete commands, options and their choices",
  example: 'eval "$(polewright completion bash)"',
  takes: { shell: { ...place("shell", "the shell"), choices: shells } },
  async run({ shell }) {
    const { deeds } = await import("../deeds.js");
    const commands = await Promise.all([
      ...Object.values(questions).map(async (load) => {
        const { name, asks, takes } = await load();
        return { name, asks, takes: { ...takes, ...answerOptions } };
      }),
      ...Object.values(deeds).map((load) => load()),
    ]);
    process.stdout.write(shell === "fish" ? fishScript(commands) : bashScript(commands, shell === "zsh"));
  },
});

interface Listed {
  readonly name: string;
  readonly asks: string;
  readonly takes: Takes;
}

const isOption = ([, take]: [string, Take<unknown>]): boolean => take.as === "option";
const optionsOf = ({ takes }: Listed): [string, Take<unknown>][] => Object.entries(takes).filter(isOption);

/** The words that may stand by their place. */
function wordsOf({ takes }: Listed): string[] {
  return Object.values(takes).flatMap((take) => (take.as === "option" ? [] : (take.choices ?? [])));
}

/** For bash, and for zsh with its own reader of bash's completions. */
function bashScript(commands: readonly Listed[], isZsh: boolean): string {
  const options = commands.map(
    (one) =>
      `    ${one.name}) words="${[...optionsOf(one).map(([key]) => dashed(key)), "--help"].join(" ")}";;`,
  );
  const places = commands
    .filter((one) => wordsOf(one).length > 0)
    .map((one) => `    ${one.name}) words="${wordsOf(one).join(" ")}";;`);
  const choices = commands.flatMap((one) =>
    optionsOf(one).flatMap(([key, { choices: some }]) =>
      some === undefined ? [] : [`    "${one.name} ${dashed(key)}") words="${some.join(" ")}";;`],
    ),
  );
  return `${isZsh ? "autoload -U +X bashcompinit && bashcompinit\n" : ""}_polewright() {
  local word="\${COMP_WORDS[COMP_CWORD]}" command="\${COMP_WORDS[1]}" words=""
  if [ "$COMP_CWORD" -eq 1 ]; then
    COMPREPLY=( $(compgen -W "${commands.map(({ name }) => name).join(" ")}" -- "$word") )
    return
  fi
  case "$command \${COMP_WORDS[COMP_CWORD-1]}" in
${choices.join("\n")}
  esac
  if [ -z "$words" ]; then case "$word" in
  -*) case "$command" in
${options.join("\n")}
    esac;;
  *) case "$command" in
${places.join("\n")}
    esac;;
  esac; fi
  COMPREPLY=( $(compgen -W "$words" -- "$word") )
  [ "\${#COMPREPLY[@]}" -gt 0 ] || COMPREPLY=( $(compgen -f -- "$word") )
}
complete -o filenames -F _polewright polewright
`;
}

function fishScript(commands: readonly Listed[]): string {
  const quoted = (text: string): string => `'${text.replace(/\\/g, "\\\\").replace(/'/g, "\\'")}'`;
  const lines = commands.flatMap((one) => {
    const here = `complete -c polewright -n '__fish_seen_subcommand_from ${one.name}'`;
    return [
      `complete -c polewright -n __fish_use_subcommand -f -a ${one.name} -d ${quoted(one.asks)}`,
      ...(wordsOf(one).length === 0 ? [] : [`${here} -a ${quoted(wordsOf(one).join(" "))}`]),
      ...optionsOf(one).map(([key, { value, choices, help }]) => {
        const takes =
          value === null ? "" : choices === undefined ? " -r" : ` -x -a ${quoted(choices.join(" "))}`;
        return `${here} -l ${dashed(key).slice(2)}${takes} -d ${quoted(help)}`;
      }),
    ];
  });
  return `${lines.join("\n")}\n`;
}
