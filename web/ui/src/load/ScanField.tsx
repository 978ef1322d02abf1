import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useFieldScan, usePageScan, type Heard } from "../scan/takers";
import { sound } from "./sound";

export type { Heard } from "../scan/takers";

interface Props {
  label: string;
  hint?: string;
  /** Takes what was scanned or typed and says what came of it. */
  onScan(code: string): Heard | Promise<Heard>;
  /** Enter in the empty field. */
  onEmpty?(): void;
  /** The page is about these scans: it has the focus, and takes them wherever the focus goes. */
  focus?: boolean;
}

/** One field, Enter between: for typing by hand. A scanner's codes come here wherever the focus is. */
export function ScanField({ label, hint = "", onScan, onEmpty, focus = false }: Props): JSX.Element {
  const text = useSignal("");
  const said = useSignal<(Heard & { n: number }) | null>(null);
  const field = useRef<HTMLInputElement>(null);
  // A page honors autofocus once; this field comes and goes within it.
  useEffect(() => {
    if (focus) field.current?.focus();
  }, [focus]);
  const take = async (code: string): Promise<Heard> => {
    const heard = await onScan(code);
    said.value = { ...heard, n: (said.value?.n ?? 0) + 1 };
    return heard;
  };
  useFieldScan(field, take);
  usePageScan(focus ? take : null);
  const submit = async (): Promise<void> => {
    const code = text.value.trim();
    text.value = "";
    field.current?.focus();
    if (code === "") {
      onEmpty?.();
      return;
    }
    const heard = await take(code);
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
