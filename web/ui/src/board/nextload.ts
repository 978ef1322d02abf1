import { createContext } from "preact";
import { useContext } from "preact/hooks";
import { signal, useComputed, type ReadonlySignal } from "@preact/signals";
import { useGet } from "../shared/useGet";
import type { Proposal } from "../types";

const NextLoads = createContext<ReadonlySignal<Proposal | null>>(signal(null));

/** One proposal for all lanes. */
export const NextLoadsProvider = NextLoads.Provider;

/** What to load next, asked for once a minute; null until it is known and where it cannot be had. */
export function useNextLoads(everyMs: number): ReadonlySignal<Proposal | null> {
  const { got } = useGet<Proposal>("/next-loads", everyMs);
  return useComputed(() => got.value.value);
}

/** The proposal that the board asked for. */
export const useProposal = (): ReadonlySignal<Proposal | null> => useContext(NextLoads);
