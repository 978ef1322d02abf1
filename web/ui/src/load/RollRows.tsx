import type { JSX } from "preact";
import { Choice } from "../runs/Choice";
import { processIds } from "../runs/query";
import type { Roll } from "../types";
import { isOdd, readWant, wantWords, type Want } from "./rolls";

interface Props {
  rolls: readonly Roll[];
  run: Want;
  drop(twin: string): void;
  want(twin: string, w: Want | null): void;
}

const options: [string, string][] = processIds.flatMap((process) =>
  [0, -1, 1, 2].map((push): [string, string] => {
    const w = { process, push };
    return [wantWords(w), wantWords(w)];
  }),
);

/** The rolls scanned so far, the last on top; one that wants something else stands out. */
export function RollRows({ rolls, run, drop, want }: Props): JSX.Element | null {
  if (rolls.length === 0) return null;
  return (
    <ol class="rollrows" reversed>
      {[...rolls].reverse().map((r, i) => {
        const odd = isOdd(r, run);
        const value = r.process ? wantWords({ process: r.process, push: r.push ?? 0 }) : "";
        return (
          <li key={r.twin_check} class={odd ? "odd" : ""}>
            <span class="nth num">{rolls.length - i}</span>
            <b class="num">{r.twin_check}</b>
            <span class="oddword">{odd && <><span aria-hidden="true">▲</span> the odd one</>}</span>
            <Choice label="For" value={value} none="as set" options={value && !options.some(([v]) => v === value) ? [...options, [value, value]] : options} onPick={(v) => want(r.twin_check, readWant(v))} />
            <button class="plain" aria-label={`Remove ${r.twin_check}`} onClick={() => drop(r.twin_check)}>Remove</button>
          </li>
        );
      })}
    </ol>
  );
}
