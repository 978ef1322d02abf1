import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { timeNear } from "../report/statements";
import { runLink } from "../route";
import { Part, Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import type { Unit } from "../types";
import { filmDoings } from "../words/film";

/** What was done with film that no run goes on with: said here, its alert clears. */
export function FilmPart({ unit }: { unit: Unit }): JSX.Element | null {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const at = useSignal("");
  const note = useSignal("");
  const left = unit.film ?? [];
  const film = left[0];
  if (!film) return null;
  const say = async (what: string): Promise<void> => {
    const time = at.value ? timeNear(at.value, store.now.peek()) : null;
    const body = { what, ...(time === null ? {} : { at: new Date(time).toISOString() }), ...(note.value.trim() ? { note: note.value.trim() } : {}) };
    if (await act.send("POST", `/units/${unit.id}/film`, body, "Entered.")) {
      at.value = "";
      note.value = "";
    }
  };
  return (
    <Part title="Film in the tank" note="No run goes on with it. What was done counts in its verdict.">
      <p><a href={runLink(film.run)}>Run {film.run_name}</a>: what was done with its film?</p>
      {may.enter ? (
        <form class="fields" onSubmit={(e) => e.preventDefault()}>
          <label>At (empty: now)<input type="time" step="1" value={at.value} onInput={(e) => (at.value = e.currentTarget.value)} /></label>
          <label class="grow">Note<input maxLength={1000} value={note.value} onInput={(e) => (note.value = e.currentTarget.value)} /></label>
          {filmDoings.map(([what, words]) => (
            <button key={what} type="button" class={what === "drained" && film.developer ? "solid" : "plain"} disabled={act.busy.value} onClick={() => void say(what)}>{words}</button>
          ))}
        </form>
      ) : <p>Operators and leads enter it here.</p>}
      <Said of={act} />
      <ul class="cautions"><li>Gloves and goggles. Keep waste streams apart.</li><li>Work in the dark until the film is fixed.</li></ul>
    </Part>
  );
}
