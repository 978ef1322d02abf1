import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { volumes } from "../state/prefs";
import { deedDone } from "../words/container";
import { litres } from "../words/measure";
import { moment, ms } from "../words/time";
import { eventsPath, justDone } from "./deeds";
import type { ContainerEvent } from "./types";
import type { ContainerEventList } from "../types";

/** What was done to a container before, newest first, each to be taken back. */
export function ContainerHistory({ unit, name }: { unit: string; name: string }): JSX.Element {
  const store = useStore();
  const list = useSignal<ContainerEvent[] | null>(null);
  const trouble = useSignal("");
  const path = eventsPath(unit, name);
  const may = store.session.value?.role !== "viewer";
  const load = async (): Promise<void> => {
    try {
      list.value = (await store.source.get<ContainerEventList>(`${path}?limit=8`)).events;
      trouble.value = "";
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    }
  };
  useEffect(() => {
    list.value = null;
    void load();
  }, [path, justDone.value]);
  const takeBack = async (id: string): Promise<void> => {
    try {
      await store.act("DELETE", `${path}/${encodeURIComponent(id)}`);
      await load();
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    }
  };
  const now = store.now.peek();
  return (
    <div class="history">
      <h3>Before</h3>
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      {list.value?.length === 0 && <p class="muted">Nothing was entered for this container.</p>}
      <ol>
        {(list.value ?? []).map((e) => (
          <li key={e.id} class={e.taken_back ? "gone" : ""}>
            <span class="num">{moment(ms(e.at) ?? 0, now)}</span>
            <span>
              {e.taken_back ? <s>{deedDone(e.what)}</s> : deedDone(e.what)}{e.litres !== null && `, ${litres(e.litres, volumes.value)}`}{" "}
              <span class="muted">{e.by}{e.taken_back && `, undone by ${e.taken_back.by}`}{e.note && `: ${e.note}`}</span>
            </span>
            {may && !e.taken_back && (
              <button class="plain" aria-label={`Undo: ${deedDone(e.what)} ${moment(ms(e.at) ?? 0, now)}`} onClick={() => void takeBack(e.id)}>Undo</button>
            )}
          </li>
        ))}
      </ol>
    </div>
  );
}
