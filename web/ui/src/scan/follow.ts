import { Burst, ENDLESS_AFTER_MS } from "./burst";

// Listens to the whole page before any control sees a key: a scan lands in its
// place whatever has the focus, chooses nothing from a list, presses no button
// and sends no form.

/** What came of the keys: a code, or a scan that cannot be used. */
export interface Scan {
  code: string;
  trouble: "" | "broken" | "endless";
  /** What had the focus. */
  at: Element | null;
}

/** A field in which fast keys are its own: an instrument that types its readings, a password. */
const keepsKeys = (e: Element | null): boolean =>
  e !== null && (e.closest("[data-keys=own]") !== null || (e instanceof HTMLInputElement && e.type === "password"));

const presses = new Set(["button", "submit", "reset", "checkbox", "radio", "range", "color", "file", "image"]);

type Field = HTMLInputElement | HTMLTextAreaElement;

const fieldOf = (e: Element | null): Field | null =>
  e instanceof HTMLTextAreaElement || (e instanceof HTMLInputElement && !presses.has(e.type)) ? e : null;

/** Hands on each scan; gives the way to stop. */
export function followScans(on: (s: Scan) => void): () => void {
  const burst = new Burst();
  /** The field in which the burst began, as it was before. */
  let before: { field: Field; value: string } | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const swallowed = new Set<string>();

  const restore = (): void => {
    if (!before || !before.field.isConnected || before.field.value === before.value) return;
    before.field.value = before.value;
    before.field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const swallow = (e: KeyboardEvent): void => {
    e.preventDefault();
    e.stopImmediatePropagation();
    swallowed.add(e.key);
  };
  const down = (e: KeyboardEvent): void => {
    const at = e.target instanceof Element ? e.target : null;
    clearTimeout(timer);
    swallowed.delete(e.key);
    if (keepsKeys(at) || e.isComposing) return;
    const told = burst.key({ key: e.key, t: e.timeStamp, odd: e.repeat || e.ctrlKey || e.altKey || e.metaKey, at });
    switch (told.is) {
      case "none":
        return;
      case "key": {
        const field = fieldOf(at);
        if (told.n === 1) before = field && { field, value: field.value };
        if (!field && told.n > 1) swallow(e);
        else if (!field && at instanceof HTMLSelectElement && e.key !== " ") {
          swallow(e);
          typeAhead.key(at, e.key);
        }
        if (!field) timer = setTimeout(() => ended(at), ENDLESS_AFTER_MS + 10);
        return;
      }
      default:
        swallow(e);
        typeAhead.forget();
        restore();
        on({ code: told.code, trouble: told.is === "broken" ? "broken" : "", at });
    }
  };
  const ended = (at: Element | null): void => {
    const code = burst.endless(performance.now());
    if (code) on({ code, trouble: "endless", at });
  };
  const up = (e: KeyboardEvent): void => {
    if (!swallowed.delete(e.key)) return;
    e.preventDefault();
    e.stopImmediatePropagation();
  };
  // What a key that was taken would still do: some drivers of keyboards send it apart.
  const pressed = (e: KeyboardEvent): void => {
    if (!swallowed.has(e.key)) return;
    e.preventDefault();
    e.stopImmediatePropagation();
  };
  const typeAhead = new TypeAhead();
  addEventListener("keydown", down, true);
  addEventListener("keypress", pressed, true);
  addEventListener("keyup", up, true);
  return () => {
    clearTimeout(timer);
    typeAhead.forget();
    removeEventListener("keydown", down, true);
    removeEventListener("keypress", pressed, true);
    removeEventListener("keyup", up, true);
  };
}

/** A key of a scanner is followed by the next within so long; one that is alone is a person's. */
const ALONE_AFTER_MS = 120;
const WORD_WITHIN_MS = 1000;

/** What a list does with letters that a person types, once it is clear that no scan follows. */
class TypeAhead {
  #timer: ReturnType<typeof setTimeout> | undefined;
  #word = "";
  #at = -Infinity;

  key(list: HTMLSelectElement, key: string): void {
    this.forget();
    this.#timer = setTimeout(() => {
      const now = performance.now();
      this.#word = now - this.#at > WORD_WITHIN_MS ? key : this.#word + key;
      this.#at = now;
      choose(list, this.#word.toLowerCase());
    }, ALONE_AFTER_MS);
  }

  forget(): void {
    clearTimeout(this.#timer);
  }
}

function choose(list: HTMLSelectElement, word: string): void {
  const hit = [...list.options].find((o) => !o.disabled && o.text.trim().toLowerCase().startsWith(word));
  if (!hit || hit.selected) return;
  list.value = hit.value;
  for (const what of ["input", "change"]) list.dispatchEvent(new Event(what, { bubbles: true }));
}
