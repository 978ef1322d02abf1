import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { sound } from "./sound";

export interface Heard {
  ok: boolean;
  words: string;
}

interface Props {
  label: string;
  hint?: string;
  /** Takes what was scanned and says what came of it. */
  onScan(code: string): Heard | Promise<Heard>;
  /** Enter in the empty field. */
  onEmpty?(): void;
  focus?: boolean;
}

/** One field, Enter between: made for a scanner, which is a keyboard. It keeps the focus. */
export function ScanField({ label, hint = "", onScan, onEmpty, focus = false }: Props): JSX.Element {
  const text = useSignal("");
  const said = useSignal<(Heard & { n: number }) | null>(null);
  const field = useRef<HTMLInputElement>(null);
  // A page honours autofocus once; this field comes and goes within it.
  useEffect(() => {
    if (focus) field.current?.focus();
  }, [focus]);
  const submit = async (): Promise<void> => {
    const code = text.value.trim();
    text.value = "";
    field.current?.focus();
    if (code === "") {
      onEmpty?.();
      return;
    }
    const heard = await onScan(code);
    said.value = { ...heard, n: (said.value?.n ?? 0) + 1 };
    sound(heard.ok ? "taken" : "refused");
  };
  return (
    <form class="scanfield" onSubmit={(e) => { e.preventDefault(); void submit(); }}>
      <label>
        <span>{label}</span>
        <input
          ref={field} value={text.value} onInput={(e) => (text.value = e.currentTarget.value)} maxLength={80}
          autocomplete="off" autocapitalize="off" spellcheck={false} enterkeyhint="enter"
        />
      </label>
      <button class="plain">Add</button>
      <p role="status" class={said.value === null ? "said" : said.value.ok ? "said ok" : "said no"}>
        {said.value === null
          ? hint
          : <><span aria-hidden="true">{said.value.ok ? "○" : "▲"}</span> <b>{said.value.ok ? "Taken" : "Not taken"}</b> <span key={said.value.n}>{said.value.words}</span></>}
      </p>
    </form>
  );
}
