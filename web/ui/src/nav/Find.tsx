import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { route } from "../route";
import { seek } from "../runs/seek";
import { narrow } from "../state/prefs";

/** Search from everywhere: a roll's twin check, an order, a run, a unit, a day. On a phone the field opens at a press. */
export function Find(): JSX.Element {
  const store = useStore();
  const open = useSignal(false);
  const text = useSignal("");
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (open.value) field.current?.focus();
  }, [open.value]);
  useEffect(() => {
    open.value = false;
  }, [route.value]);
  const find = (e: Event): void => {
    e.preventDefault();
    const term = text.value;
    if (term.trim() === "") return field.current?.focus();
    text.value = "";
    open.value = false;
    void seek(store, term);
  };
  return (
    <>
      {narrow.value && <button class="plain findopen" aria-expanded={open.value} aria-controls="find" onClick={() => (open.value = !open.value)}>Find</button>}
      <form id="find" class={`find${open.value ? " open" : ""}`} role="search" aria-label="Find a roll, an order or a run" onSubmit={find}>
        <input
          ref={field} value={text.value} onInput={(e) => (text.value = e.currentTarget.value)} maxLength={80} aria-label="Twin check, order or run"
          placeholder="Twin check, order, run" autocomplete="off" autocapitalize="off" spellcheck={false} enterkeyhint="search"
        />
        <button class="plain">Find</button>
      </form>
    </>
  );
}
