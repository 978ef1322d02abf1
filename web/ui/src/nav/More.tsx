import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { DarkButton } from "../board/DarkButton";
import { ScreenChoices } from "../board/ScreenPanel";
import { kiosk } from "../state/kiosk";
import { Links } from "./Links";

/** All pages, and what this screen shows and how. On a wall it is the one thing that can be pressed. */
export function More(): JSX.Element {
  const open = useSignal(false);
  const box = useRef<HTMLDivElement>(null);
  const button = useRef<HTMLButtonElement>(null);
  const shut = (): void => void (open.value = false);
  useEffect(() => {
    const away = (e: Event): void => {
      if (!open.peek()) return;
      if (!(e instanceof KeyboardEvent)) {
        if (!box.current?.contains(e.target as Node)) shut();
      } else if (e.key === "Escape") {
        shut();
        button.current?.focus();
      }
    };
    addEventListener("pointerdown", away);
    addEventListener("keydown", away);
    return () => {
      removeEventListener("pointerdown", away);
      removeEventListener("keydown", away);
    };
  }, []);
  return (
    <div class="more" ref={box}>
      <button ref={button} class="plain" aria-expanded={open.value} aria-controls="more" onClick={() => (open.value = !open.value)}>{kiosk.value ? "Pages" : "More"}</button>
      {open.value && (
        <div class="panel" id="more" role="group" aria-label="More">
          <nav class="allpages" aria-label="All pages"><Links onGo={shut} /></nav>
          {!kiosk.value && <p class="acts"><DarkButton /></p>}
          {!kiosk.value && <ScreenChoices />}
        </div>
      )}
    </div>
  );
}
