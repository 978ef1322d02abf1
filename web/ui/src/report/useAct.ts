import { useSignal, type Signal } from "@preact/signals";
import { useStore } from "../context";

export interface Act {
  busy: Signal<boolean>;
  trouble: Signal<string>;
  /** Sends it; true when it is done. */
  send(method: "POST" | "DELETE", path: string, body?: unknown): Promise<boolean>;
}

/** One thing that a person does on a page: busy meanwhile, in words when it fails. */
export function useAct(done: () => void): Act {
  const store = useStore();
  const busy = useSignal(false);
  const trouble = useSignal("");
  const send: Act["send"] = async (method, path, body) => {
    busy.value = true;
    try {
      await store.act(method, path, body);
      trouble.value = "";
      done();
      return true;
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
      return false;
    } finally {
      busy.value = false;
    }
  };
  return { busy, trouble, send };
}

/** Whether who is signed in may enter things. */
export function useMayEnter(): boolean {
  const role = useStore().session.value?.role;
  return role === "operator" || role === "lead";
}
