import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Mark } from "../board/Mark";
import { alertLink } from "../route";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { degrees, volumes } from "../state/prefs";
import type { AlertList, EntryList, Unit } from "../types";
import { dealtWith, priorityWord } from "../words/alert";
import { entryWords } from "../words/entry";
import { moment, ms } from "../words/time";
import { said } from "../state/said";

const SHOWN = new Set(["note", "container", "capacity", "check", "probe", "house-aim", "developer", "load", "unload", "turned-by-hand", "drained", "film", "continues", "measured", "step-name", "step-time"]);

/** What people wrote down about a unit, and the faults that were found on it. */
export function NotesPart({ unit }: { unit: Unit }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const text = useSignal("");
  const { got, again } = useGet<EntryList>(`/entries?${new URLSearchParams({ unit: unit.id, limit: "30" })}`);
  const past = useGet<AlertList>(`/alerts?${new URLSearchParams({ unit: unit.id, limit: "12" })}`);
  const now = store.now.value;
  const list = (got.value.value?.entries ?? []).filter((e) => SHOWN.has(e.what));
  const faults = past.got.value.value?.alerts ?? [];
  const write = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("POST", `/units/${unit.id}/notes`, { text: text.value.trim() }, "Written down.")) {
      text.value = "";
      await again();
    }
  };
  return (
    <>
      <Part title="Notes" note="What the next one at this unit should know.">
        {may.enter && (
          <form class="fields" onSubmit={(e) => void write(e)}>
            <label class="grow">Write down<input required maxLength={1000} value={text.value} onInput={(e) => (text.value = e.currentTarget.value)} /></label>
            <button class="solid" disabled={act.busy.value || text.value.trim() === ""}>Save the note</button>
          </form>
        )}
        <Said of={act} />
        <Waiting got={got.value} again={again} what="The notes" />
        {got.value.value && list.length === 0 && <p>Nothing is written down about this unit.</p>}
        <ol class="lines">
          {list.map((e) => (
            <li key={e.id} class={e.taken_back ? "muted" : ""}>
              <time class="num">{moment(ms(e.at) ?? now, now)}</time>
              <span>{entryWords(e.what, e.body, { degrees: degrees.value, volumes: volumes.value })}</span>
              <span class="muted">{e.by}{e.taken_back && `, undone by ${e.taken_back.by}`}</span>
            </li>
          ))}
        </ol>
      </Part>
      <Part title="Faults" note="The last alerts of this unit, cleared or not.">
        <Waiting got={past.got.value} again={past.again} what="The alerts" />
        {past.got.value.value && faults.length === 0 && <p>No alert was ever raised for this unit.</p>}
        <ol class="lines">
          {faults.map((a) => (
            <li key={a.id}>
              <time class="num">{moment(ms(a.raised_at) ?? now, now)}</time>
              <span class="faultline"><Mark priority={a.priority} hollow={a.state !== "unacknowledged"} /><span class="unseen">{priorityWord[a.priority]}</span><a href={alertLink(a.id)}>{said(a.message)}</a></span>
              <span class="muted">{a.withdrawn ? "undone" : a.state === "closed" ? "over" : dealtWith(a, now)}</span>
            </li>
          ))}
        </ol>
      </Part>
    </>
  );
}
