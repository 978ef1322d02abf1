import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { hourMinute, ms } from "../words/time";

const MINUTES = 10;

/** "I'm loading in the dark": that person's phone stays dark for ten minutes, urgent goes to the next one at once. */
export function DarkButton(): JSX.Element | null {
  const store = useStore();
  const busy = useSignal(false);
  const trouble = useSignal("");
  if (!store.mayAct) return null;
  const me = store.session.value?.name ?? "";
  const mine = (store.duty.status.value?.dark ?? []).find((d) => d.person === me);
  const until = ms(mine?.until);
  const set = async (minutes: number): Promise<void> => {
    busy.value = true;
    try {
      await store.act("POST", "/duty/dark", { minutes });
      trouble.value = "";
      await store.duty.ask();
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    } finally {
      busy.value = false;
    }
  };
  return (
    <>
      {mine ? (
        <button class="plain" disabled={busy.value} onClick={() => void set(0)}>I can look again{until === null ? "" : ` (dark until ${hourMinute(until)})`}</button>
      ) : (
        <button class="plain" disabled={busy.value} title="Your phone stays dark; urgent pages go to the next one at once" onClick={() => void set(MINUTES)}>
          Loading in the dark, {MINUTES} min
        </button>
      )}
      {trouble.value && <span class="trouble" role="alert">{trouble.value}</span>}
    </>
  );
}
