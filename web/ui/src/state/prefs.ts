import { effect, signal, type Signal } from "@preact/signals";
import type { Source } from "../api/source";
import type { Degrees, Volumes } from "../words/measure";

export type Scheme = "auto" | "light" | "dark";
export type OnOff = "on" | "off";

// What a reader chose stays in their browser; without storage it lasts for the
// visit. It also goes to the server, where there is one that keeps it: then it
// is the same at each of their screens. A wall follows nobody.
function kept<T extends string>(key: string, options: readonly T[]): Signal<T> {
  const name = `wetside.${key}`;
  let start = options[0] as T;
  try {
    const had = localStorage.getItem(name) as T | null;
    if (had !== null && options.includes(had)) start = had;
  } catch {
    // No storage here.
  }
  const s = signal(start);
  effect(() => {
    const v = s.value;
    try {
      localStorage.setItem(name, v);
    } catch {
      // No storage here.
    }
  });
  return s;
}

export const degrees = kept<Degrees>("degrees", ["C", "F"]);
export const volumes = kept<Volumes>("volumes", ["l", "gal"]);
export const scheme = kept<Scheme>("scheme", ["auto", "light", "dark"]);
export type SoundWish = "on" | "urgent" | "off";
/** For every alert, for urgent ones only, or not at all. */
export const soundOn = kept<SoundWish>("sound", ["on", "urgent", "off"]);
export const speech = kept<OnOff>("speech", ["off", "on"]);

type Kept = Record<string, unknown>;

/** Our words for a choice and the server's (internal/lab/preferences.go). */
const all: [name: string, signal: Signal<string>, words: [ours: string, theirs: unknown][]][] = [
  ["theme", scheme as Signal<string>, [["auto", "system"], ["light", "light"], ["dark", "dark"]]],
  ["temperature", degrees as Signal<string>, [["C", "c"], ["F", "f"]]],
  ["volume", volumes as Signal<string>, [["l", "l"], ["gal", "gal"]]],
  ["sound", soundOn as Signal<string>, [["on", "on"], ["urgent", "urgent"], ["off", "off"]]],
  ["spoken", speech as Signal<string>, [["off", false], ["on", true]]],
];

const SAVE_AFTER_MS = 800;

/**
 * Follows what the server keeps for the person who is signed in: takes it, then
 * sends what they change. Where the server keeps nothing the browser's own
 * stands. Gives the way to stop.
 */
export async function followPerson(source: Pick<Source, "get" | "send">): Promise<() => void> {
  let stopped = false;
  let last: Kept = {};
  try {
    last = (await source.get<Kept>("/me/preferences"));
  } catch {
    return () => undefined;
  }
  for (const [name, s, words] of all) {
    const hit = words.find(([, theirs]) => theirs === last[name]);
    if (hit) s.value = hit[0];
  }
  let timer: ReturnType<typeof setTimeout> | undefined;
  let first = true;
  const stop = effect(() => {
    const chosen = Object.fromEntries(all.map(([name, s, words]) => [name, words.find(([ours]) => ours === s.value)?.[1]]));
    if (first) {
      first = false;
      return;
    }
    clearTimeout(timer);
    timer = setTimeout(() => {
      last = { ...last, ...chosen };
      if (!stopped) void source.send("PUT", "/me/preferences", last).catch(() => undefined);
    }, SAVE_AFTER_MS);
  });
  return () => {
    stopped = true;
    clearTimeout(timer);
    stop();
  };
}

/** Reads in the lab's units of measure: a wall has no person who chose any. */
export async function takeLabUnits(source: Pick<Source, "get">): Promise<void> {
  try {
    const p = (await source.get<Kept>("/me/preferences"));
    for (const [name, s, words] of all) {
      const hit = words.find(([, theirs]) => theirs === p[name]);
      if (hit && (s === (degrees as Signal<string>) || s === (volumes as Signal<string>))) s.value = hit[0];
    }
  } catch {
    // The wall goes on in the units that it had.
  }
}

/** Puts the chosen scheme on the page. */
export function followScheme(root: HTMLElement): void {
  effect(() => {
    if (scheme.value === "auto") delete root.dataset["scheme"];
    else root.dataset["scheme"] = scheme.value;
  });
}

/** One column, for a phone in a pocket. */
export const narrow = signal(false);

export function followWidth(): void {
  const q = matchMedia("(max-width: 1099px)");
  narrow.value = q.matches;
  q.addEventListener("change", () => (narrow.value = q.matches));
}
