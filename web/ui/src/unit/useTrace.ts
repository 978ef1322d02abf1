import { useEffect } from "preact/hooks";
import { useSignal, type Signal } from "@preact/signals";
import { useStore } from "../context";
import type { TraceList, TracePoint } from "../types";
import { ms } from "../words/time";
import { joined, THIS_RUN } from "./trace";

const TAIL_EVERY_MS = 15_000;
/** Further back a single reading is less than a pixel: the tail is soon enough. */
const LIVE_UP_TO_H = 1;

export interface Traced {
  points: TracePoint[] | null;
  trouble: string;
}

/** A unit's readings of the last hours, or (0) of the run that `began`: fetched once, then what is new each 15 s and, for the bath, as it comes. */
export function useTrace(unit: string, hours: number, began: number | null): Signal<Traced> {
  const store = useStore();
  const out = useSignal<Traced>({ points: null, trouble: "" });
  useEffect(() => {
    let gone = false;
    out.value = { points: null, trouble: "" };
    const begin = (): number => (hours === THIS_RUN && began !== null ? began - 30_000 : store.now.peek() - hours * 3_600_000);
    const load = async (): Promise<void> => {
      const had = out.peek().points;
      const last = had?.length ? Math.max(...had.slice(-50).map((p) => ms(p.at) ?? 0)) : 0;
      // A little of what is there is asked for again: what came late lies there.
      const from = had ? Math.max(begin(), last - 60_000) : begin();
      const q = new URLSearchParams({ from: new Date(from).toISOString(), to: new Date(store.now.peek()).toISOString() });
      try {
        const answer = await store.source.get<TraceList>(`/units/${unit}/trace?${q}`);
        if (!gone) out.value = { points: joined(out.peek().points ?? [], answer.points, begin()), trouble: "" };
      } catch (e) {
        if (!gone) out.value = { ...out.peek(), trouble: e instanceof Error ? e.message : String(e) };
      }
    };
    void load();
    const timer = setInterval(() => void load(), TAIL_EVERY_MS);
    const stop = hours > LIVE_UP_TO_H ? undefined : store.unit(unit)?.subscribe(({ unit: u }) => {
      const had = out.peek().points;
      if (!had || u.bath.c === null || !u.bath.at) return;
      const p: TracePoint = { at: u.bath.at, bath_c: u.bath.c };
      const next = joined(had, [p], begin());
      if (next.length !== had.length) out.value = { ...out.peek(), points: next };
    });
    return () => {
      gone = true;
      clearInterval(timer);
      stop?.();
    };
  }, [unit, hours, hours === THIS_RUN ? began : 0, store]);
  return out;
}
