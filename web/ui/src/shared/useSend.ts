import { useSignal, type Signal } from "@preact/signals";
import type { Method } from "../api/source";
import { Refusal } from "../api/source";
import { useStore } from "../context";

export interface Sending {
  busy: Signal<boolean>;
  /** What went wrong, in words; "" when nothing did. */
  trouble: Signal<string>;
  status: Signal<number>;
  /** Said when it went well. */
  done: Signal<string>;
  /** Sends it; null when it was refused. `said`: the words for when it is done. */
  send<T>(method: Method, path: string, body?: unknown, said?: string): Promise<{ value: T } | null>;
}

/** One thing that a person changes: busy meanwhile, in words afterwards. */
export function useSend(): Sending {
  const store = useStore();
  const busy = useSignal(false);
  const trouble = useSignal("");
  const status = useSignal(0);
  const done = useSignal("");
  const send: Sending["send"] = async <T,>(method: Method, path: string, body?: unknown, said = "") => {
    busy.value = true;
    done.value = "";
    try {
      const value = await store.act<T>(method, path, body);
      trouble.value = "";
      status.value = 0;
      done.value = said;
      return { value };
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
      status.value = e instanceof Refusal ? e.status : 0;
      return null;
    } finally {
      busy.value = false;
    }
  };
  return { busy, trouble, status, done, send };
}

/** Whether who is signed in may enter things; leads may also set them. */
export function useMay(): { enter: boolean; set: boolean; me: string } {
  const store = useStore();
  return { enter: store.mayAct, set: store.mayAct && store.session.value?.role === "lead", me: store.session.value?.name ?? "" };
}
