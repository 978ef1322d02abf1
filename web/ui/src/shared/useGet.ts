import { useEffect, useRef } from "preact/hooks";
import { useSignal, useSignalEffect, type Signal } from "@preact/signals";
import { Refusal } from "../api/source";
import { useStore } from "../context";

export interface Got<T> {
  /** null: not answered yet. What was last answered stays when a later asking fails. */
  value: T | null;
  trouble: string;
  /** Of the refusal; 0 where the server was not reached or all is well. */
  status: number;
}

export interface Asking<T> {
  got: Signal<Got<T>>;
  again(): Promise<void>;
}

const EVERY_MS = 30_000;

/**
 * Asks for something while the page is shown: at once, each 30 s, when something
 * was entered on any part of the page, and when `again` is called.
 */
export function useGet<T>(path: string | null, everyMs = EVERY_MS): Asking<T> {
  const store = useStore();
  const got = useSignal<Got<T>>({ value: null, trouble: "", status: 0 });
  const asked = useSignal(0);
  const ask = async (): Promise<void> => {
    if (path === null) return;
    const mine = ++asked.value;
    try {
      const value = await store.source.get<T>(path);
      if (mine === asked.peek()) got.value = { value, trouble: "", status: 0 };
    } catch (e) {
      if (mine !== asked.peek()) return;
      got.value = { value: got.peek().value, trouble: e instanceof Error ? e.message : String(e), status: e instanceof Refusal ? e.status : 0 };
    }
  };
  useEffect(() => {
    got.value = { value: null, trouble: "", status: 0 };
    void ask();
    const timer = everyMs > 0 ? setInterval(() => void ask(), everyMs) : undefined;
    return () => {
      asked.value++;
      clearInterval(timer);
    };
  }, [path, store]);
  const entered = useRef(store.entered.peek());
  useSignalEffect(() => {
    if (store.entered.value === entered.current) return;
    entered.current = store.entered.value;
    void ask();
  });
  return { got, again: ask };
}
