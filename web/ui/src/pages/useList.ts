import { useEffect } from "preact/hooks";
import { useSignal, type Signal } from "@preact/signals";
import { useStore } from "../context";

export interface Listing<T> {
  rows: T[] | null;
  trouble: string;
}

/** Fetches a list whenever its address changes, and every 20 s while it is shown. */
export function useList<T>(path: string, key: string): Signal<Listing<T>> {
  const store = useStore();
  const out = useSignal<Listing<T>>({ rows: null, trouble: "" });
  useEffect(() => {
    let gone = false;
    const load = async (): Promise<void> => {
      try {
        const answer = await store.source.get<Record<string, T[] | null>>(path);
        if (!gone) out.value = { rows: answer[key] ?? [], trouble: "" };
      } catch (e) {
        if (!gone) out.value = { ...out.value, trouble: e instanceof Error ? e.message : String(e) };
      }
    };
    void load();
    const timer = setInterval(() => void load(), 20_000);
    return () => {
      gone = true;
      clearInterval(timer);
    };
  }, [path, key, store]);
  return out;
}
