import { useSignal, type Signal } from "@preact/signals";
import { useStore } from "../context";
import type { Alert } from "../types";

interface Deed {
  busy: Signal<boolean>;
  trouble: Signal<string>;
  /** Does it and takes the alert as the server answers; tells whether it went well. */
  post(what: string, body: unknown): Promise<boolean>;
}

/** What people do to an alert, with what went wrong in words. */
export function useDeed(a: Alert): Deed {
  const store = useStore();
  const busy = useSignal(false);
  const trouble = useSignal("");
  const post = async (what: string, body: unknown): Promise<boolean> => {
    busy.value = true;
    try {
      store.takeAlert(await store.act<Alert>("POST", `/alerts/${encodeURIComponent(a.id)}/${what}`, body));
      trouble.value = "";
      return true;
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
      return false;
    } finally {
      busy.value = false;
    }
  };
  return { busy, trouble, post };
}
