import { effect, signal, type Signal } from "@preact/signals";
import type { Degrees } from "../words/measure";

export type Scheme = "auto" | "light" | "dark";

// What a reader chose stays in their browser; without storage it lasts for the visit.
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
export const scheme = kept<Scheme>("scheme", ["auto", "light", "dark"]);

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
