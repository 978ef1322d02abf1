import { signal } from "@preact/signals";

/** Our own clock, once a second: what counts down on the board hangs on it. */
export const tick = signal(Date.now());

/** A step of more than this between two ticks: the machine slept, or its clock was set. */
export const JUMP_MS = 10_000;
/** How far the clock of the day and the one that only runs may part: somebody set the first. */
const SET_MS = 3_000;

/** Tells whether between two beats the machine slept or its clock was set. */
export function leapt(wall: number, running: number): boolean {
  return wall > JUMP_MS || Math.abs(wall - running) > SET_MS;
}

/** Starts the clock; calls jumped after a sleep. Gives the way to stop it. */
export function startClock(jumped: () => void): () => void {
  let last = Date.now();
  let ran = performance.now();
  const beat = (): void => {
    const now = Date.now();
    const running = performance.now();
    const wasLeap = leapt(now - last, running - ran);
    last = now;
    ran = running;
    tick.value = now;
    if (wasLeap) jumped();
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
