import { signal } from "@preact/signals";

/** Our own clock, once a second: what counts down on the board hangs on it. */
export const tick = signal(Date.now());

/** A step of more than this between two ticks: the machine slept, or its clock was set. */
const JUMP_MS = 10_000;

/** Starts the clock; calls jumped after a sleep. Gives the way to stop it. */
export function startClock(jumped: () => void): () => void {
  let last = Date.now();
  const beat = (): void => {
    const now = Date.now();
    const step = now - last;
    last = now;
    tick.value = now;
    if (step > JUMP_MS || step < -1000) jumped();
  };
  const timer = setInterval(beat, 1000);
  const seen = (): void => {
    if (document.visibilityState === "visible") beat();
  };
  document.addEventListener("visibilitychange", seen);
  return () => {
    clearInterval(timer);
    document.removeEventListener("visibilitychange", seen);
  };
}
