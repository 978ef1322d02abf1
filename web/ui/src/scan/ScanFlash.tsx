import type { JSX } from "preact";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { sound } from "../load/sound";
import { followScans, type Scan } from "./follow";
import { lookUp } from "./lookup";
import { flash, nextScan, takerOf, tell, type Heard } from "./takers";
import "./scan.css";

const troubles: Record<Exclude<Scan["trouble"], "">, string> = {
  broken: "Part of this scan is missing. Scan it again; if that happens often, move the scanner nearer to its receiver.",
  endless: "The scanner sent no Enter after it. Set its suffix to Enter (CR), by a code in its manual, and scan again.",
};

/** Takes every scan on every page, and tells large and aloud what came of it. */
export function ScanFlash(): JSX.Element {
  const store = useStore();
  const box = useRef<HTMLDivElement>(null);
  const f = flash.value;
  useEffect(() => followScans((s) => void take(s)), [store]);
  const take = async (s: Scan): Promise<void> => {
    const n = nextScan();
    const code = s.code.trim();
    let heard: Heard;
    try {
      heard = s.trouble ? { ok: false, words: troubles[s.trouble] } : await (takerOf(s.at) ?? ((c) => lookUp(store, c)))(code);
    } catch (e) {
      heard = { ok: false, words: e instanceof Error ? e.message : String(e) };
    }
    sound(heard.ok ? "taken" : "refused");
    tell(n, code, heard);
  };
  useEffect(() => {
    if (!f) return;
    const away = (): void => {
      if (flash.peek() === f) flash.value = null;
    };
    const timer = setTimeout(away, Math.max(0, f.until - Date.now()));
    const press = (e: Event): void => {
      if (!box.current?.contains(e.target as Node)) away();
    };
    addEventListener("pointerdown", press, true);
    return () => {
      clearTimeout(timer);
      removeEventListener("pointerdown", press, true);
    };
  }, [f]);
  // In the top layer: over a sheet that is open too.
  useLayoutEffect(() => {
    const el = box.current;
    if (!el?.showPopover) return;
    if (el.matches(":popover-open")) el.hidePopover();
    if (f) el.showPopover();
  }, [f]);
  return (
    <div ref={box} popover="manual" class={f ? (f.ok ? "scanflash ok" : "scanflash no") : "scanflash none"} role="alert">
      {f && (
        <>
          <p class="code" style={{ "--letters": Math.max(6, (f.title ?? f.code).length) }}>
            <Sign ok={f.ok} />
            <b class="num">{f.title ?? f.code}</b>
          </p>
          <p class="words">{!f.ok && <b class="not">Not taken. </b>}{f.large ?? f.words}</p>
          {(f.doors?.length || !f.ok) && (
            <p class="doors">
              {f.doors?.map((d) => <a key={d.href} href={d.href} onClick={() => (flash.value = null)}>{d.words}</a>)}
              <button onClick={() => (flash.value = null)}>Close</button>
            </p>
          )}
        </>
      )}
    </div>
  );
}

/** Told by a shape as well as by color. */
function Sign({ ok }: { ok: boolean }): JSX.Element {
  return (
    <svg viewBox="0 0 24 24" aria-hidden="true">
      {ok ? <circle cx="12" cy="12" r="9" class="line" /> : <path d="M12 2 23 21.500H1Z" class="solid" />}
    </svg>
  );
}
