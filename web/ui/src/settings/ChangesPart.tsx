import type { JSX } from "preact";
import { useStore } from "../context";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { moment, ms } from "../words/time";
import { changeWords } from "./changes";
import type { ChangeList } from "../types";

/** Who changed which setting, newest first. */
export function ChangesPart(): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<ChangeList>("/setting-changes?limit=200");
  const now = store.now.value;
  const list = got.value.value?.changes ?? [];
  return (
    <Part title="Record" note="Nothing here is ever removed. Changes of sheets stand with each sheet, those of the on-call plan on its own page.">
      <Waiting got={got.value} again={again} what="The record" />
      {got.value.value && list.length === 0 && <p>Nothing has been changed yet.</p>}
      <ol class="lines record">
        {list.map((c, i) => (
          <li key={i}>
            <time class="num">{moment(ms(c.at) ?? now, now)}</time>
            <span><b>{c.by}</b> {changeWords(c, list.slice(i + 1).find((x) => x.key === c.key), (u) => store.nameOf(u))}</span>
          </li>
        ))}
      </ol>
    </Part>
  );
}
