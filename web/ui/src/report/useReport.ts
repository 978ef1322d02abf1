import { useEffect, useRef } from "preact/hooks";
import { useSignal, type ReadonlySignal } from "@preact/signals";
import { useStore } from "../context";
import { Refusal } from "../api/source";
import type { Report } from "../types";

export interface Loaded {
  report: Report | null;
  trouble: string;
  /** There is no such run. */
  missing: boolean;
}

export interface ReportState {
  state: ReadonlySignal<Loaded>;
  /** Fetches it again: at once, and when what was entered has been counted in. */
  again(): void;
}

const RUNNING_EVERY_MS = 10_000;
const COUNTED_IN_MS = 1500;

/** The report of a run; anew every 10 s while the run goes on, and after each entry. */
export function useReport(id: string): ReportState {
  const store = useStore();
  const state = useSignal<Loaded>({ report: null, trouble: "", missing: false });
  const turn = useRef(0);
  const timers = useRef<ReturnType<typeof setTimeout>[]>([]);
  const load = async (): Promise<void> => {
    const mine = ++turn.current;
    try {
      const report = await store.source.get<Report>(`/runs/${encodeURIComponent(id)}/report`);
      if (mine === turn.current) state.value = { report, trouble: "", missing: false };
    } catch (e) {
      if (mine !== turn.current) return;
      const missing = e instanceof Refusal && e.status === 404;
      state.value = { ...state.value, trouble: e instanceof Error ? e.message : String(e), missing };
    }
  };
  useEffect(() => {
    state.value = { report: null, trouble: "", missing: false };
    void load();
    const timer = setInterval(() => {
      if (state.peek().report?.run.outcome === "running" || state.peek().trouble) void load();
    }, RUNNING_EVERY_MS);
    return () => {
      turn.current++;
      clearInterval(timer);
      timers.current.forEach(clearTimeout);
    };
  }, [id, store]);
  const again = (): void => {
    void load();
    timers.current.push(setTimeout(() => void load(), COUNTED_IN_MS));
  };
  return { state, again };
}
