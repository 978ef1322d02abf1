import type { JSX } from "preact";
import { Standing } from "../shared/parts";
import { unreachableWords } from "../words/duty";
import type { DutyPerson } from "./types";

/** Says loudly, before it is saved, whom of those that are put on call no page reaches. */
export function Unreachable({ of, people }: { of: readonly string[]; people: readonly DutyPerson[] }): JSX.Element | null {
  const list = people.filter((p) => of.includes(p.name) && !p.reachable);
  if (list.length === 0) return null;
  return (
    <ul class="warnings" role="alert">
      {list.map((p) => <li key={p.name}><Standing is="out" word={unreachableWords(p)} /></li>)}
    </ul>
  );
}
