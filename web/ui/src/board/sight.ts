import { createContext } from "preact";
import { useCallback, useContext, useRef } from "preact/hooks";
import { useComputed, useSignal, type ReadonlySignal } from "@preact/signals";
import { useStore } from "../context";
import type { Heard } from "../state/live";

/**
 * A lane out of sight is drawn anew once in so long: who hears the page read,
 * or scrolls fast, finds it near the truth, and forty lanes cost little more
 * than those on the screen.
 */
export const UNSEEN_EVERY_MS = 5000;

/** The lane's clock, the server's by what was heard; without a lane, the page's. */
export const LaneClock = createContext<ReadonlySignal<number> | null>(null);

export function useLaneClock(): ReadonlySignal<number> {
  const store = useStore();
  return useContext(LaneClock) ?? store.seen;
}

export interface Sight {
  /** For the lane's element, which is watched. */
  ref(el: HTMLElement | null): void;
  clock: ReadonlySignal<number>;
  heard: ReadonlySignal<Heard | undefined>;
}

/** What a lane shows of its unit: each second in sight, else at a slower beat. */
export function useSight(id: string): Sight {
  const store = useStore();
  const inSight = useSignal(true);
  const watching = useRef<IntersectionObserver | null>(null);
  const ref = useCallback((el: HTMLElement | null) => {
    watching.current?.disconnect();
    watching.current = el && new IntersectionObserver((list) => (inSight.value = list.at(-1)?.isIntersecting ?? true));
    if (el) watching.current?.observe(el);
  }, []);
  const beat = useComputed(() => (inSight.value ? null : Math.floor(store.seen.value / UNSEEN_EVERY_MS)));
  const clock = useComputed(() => (beat.value === null ? store.seen.value : store.seen.peek()));
  const heard = useComputed(() => {
    const unit = store.unit(id);
    return beat.value === null ? unit?.value : unit?.peek();
  });
  return { ref, clock, heard };
}
