import { useEffect } from "preact/hooks";
import { useSignal, type Signal } from "@preact/signals";
import { useStore } from "../context";
import type { Run, RunList } from "../types";
import { noteFound } from "./missed";
import { numberIs, runOrder, runsPath, type Asked, type NumberIs } from "./query";

export interface Found {
  /** null: not asked yet. */
  rows: Run[] | null;
  trouble: string;
  /** What the number turned out to be. */
  as: NumberIs;
}

type Get = <T>(path: string) => Promise<T>;

/** Asks for runs once. */
export async function findRuns(get: Get, asked: Asked): Promise<Found> {
  const answer = await get<RunList>(runsPath(asked));
  const rows = runOrder(answer.runs);
  return { rows, trouble: "", as: asked.number === "" ? "run" : numberIs(asked.number, rows) };
}

/** The runs asked for, fetched anew when the question changes and every 20 s. */
export function useRuns(asked: Asked): Signal<Found> {
  const store = useStore();
  const out = useSignal<Found>({ rows: null, trouble: "", as: "run" });
  const key = JSON.stringify(asked);
  useEffect(() => {
    let gone = false;
    out.value = { rows: null, trouble: "", as: "run" }; // what was found before answers another question
    const load = async (): Promise<void> => {
      try {
        const found = await findRuns((p) => store.source.get(p), asked);
        if (gone) return;
        out.value = found;
        noteFound(found.rows?.length ?? 0);
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
  }, [key, store]);
  return out;
}
