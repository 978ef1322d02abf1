import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { Tank, tankClass } from "../board/Tanks";
import { drawTank } from "../board/tanks";
import { useStore } from "../context";
import { volumes } from "../state/prefs";
import type { Container } from "../types";
import { containerCautions, changedWords, containerName, deedsFor, lastsWords, levelBasis, measuredWords, takesIn } from "../words/container";
import { asLitres, litres, runsLeftOf } from "../words/measure";
import { moment, ms } from "../words/time";
import { ContainerHistory } from "./ContainerHistory";
import { doDeed, openContainer } from "./deeds";
import "./load.css";
import type { ContainerDeed } from "./types";

/** The sheet of one container: what it holds, and the most pressed buttons of the day. */
export function ContainerSheet(): JSX.Element | null {
  const open = openContainer.value;
  const box = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const el = box.current;
    if (el && !el.open) el.showModal?.();
  }, [open?.unit, open?.name]);
  if (!open) return null;
  const close = (): void => {
    box.current?.close?.();
    openContainer.value = null;
  };
  return (
    <dialog class="sheet" ref={box} aria-labelledby="sheet-title" onClose={close} onClick={(e) => { if (e.target === box.current) close(); }}>
      <Inside unit={open.unit} name={open.name} close={close} />
    </dialog>
  );
}

function Inside({ unit, name, close }: { unit: string; name: string; close(): void }): JSX.Element {
  const store = useStore();
  const u = store.unit(unit)?.value.unit;
  const all = u?.containers ?? [];
  const c = all.find((x) => x.name === name);
  if (!c) return <p>This container is no longer known. <button class="plain" onClick={close}>Close</button></p>;
  return (
    <>
      <header>
        <h2 id="sheet-title">{store.nameOf(unit)}: {containerName(c).toLowerCase()}</h2>
        <button class="plain" onClick={close} autofocus>Close</button>
      </header>
      {all.length > 1 && (
        <ul class="tanks choose" aria-label="Containers of this unit">
          {all.map((x) => {
            const d = drawTank(x, all.filter((o) => o.role === x.role).length);
            return (
              <li key={x.name}>
                <button class={tankClass(d)} aria-pressed={x.name === name} onClick={() => (openContainer.value = { unit, name: x.name })}>
                  <Tank d={d} />
                </button>
              </li>
            );
          })}
        </ul>
      )}
      <Holds c={c} />
      <Deeds key={name} unit={unit} c={c} close={close} />
      <ul class="cautions">{containerCautions(c.role).map((t) => <li key={t}>{t}</li>)}</ul>
      <ContainerHistory unit={unit} name={name} />
    </>
  );
}

function Holds({ c }: { c: Container }): JSX.Element {
  const now = useStore().now.peek();
  const at = ms(c.at);
  if (c.litres === null) return <p><b>Level unknown:</b>: no level received. Look into it, then set the level below.</p>;
  return (
    <p>
      <b class="num">{litres(c.litres, volumes.value)} of {litres(c.capacity_l, volumes.value)}</b>
      {takesIn(c.role) && `, room for ${litres(Math.max(0, c.capacity_l - c.litres), volumes.value)}`}
      {(c.owed_l ?? 0) > 0.05 && ` (this run still ${takesIn(c.role) ? "brings" : "takes"} ${litres(c.owed_l ?? 0, volumes.value)})`}
      {c.runs_left !== null && `, enough for ${runsLeftOf(c)} after this one${lastsWords(c, now) && `, ${lastsWords(c, now)}`}`}
      {c.runs_left === null && c.next_run_l === undefined && ", for how many runs is not known yet"}
      {c.float_closed && <b> Full (float switch).</b>}
      {at !== null && <span class="muted"> as of {moment(at, now)}{levelBasis(c, volumes.value)}</span>}
      {c.changed && <span class={c.changed.ask ? "measured off" : "measured"} role="status">{changedWords(c.changed, volumes.value, now)}</span>}
      {c.measured && <span class={c.measured.used ? "measured" : "measured off"} role="status">{measuredWords(c.measured, c.capacity_l, volumes.value, now)}</span>}
    </p>
  );
}

function Deeds({ unit, c, close }: { unit: string; c: Container; close(): void }): JSX.Element {
  const store = useStore();
  const busy = useSignal(false);
  const trouble = useSignal("");
  const level = useSignal("");
  const may = store.session.value?.role === "operator" || store.session.value?.role === "lead";
  const press = async (what: ContainerDeed, l?: number): Promise<void> => {
    busy.value = true;
    try {
      await doDeed(store, unit, c, what, l);
      // What became of a measurement stands on this sheet: it stays open.
      if (what === "set") level.value = trouble.value = "";
      else close();
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    } finally {
      busy.value = false;
    }
  };
  if (!may) return <p class="muted">Only operators and leads enter what was done.</p>;
  const set = (e: Event): void => {
    e.preventDefault();
    const l = asLitres(Number(level.value.replace(",", ".")), volumes.value);
    if (level.value.trim() === "" || !Number.isFinite(l) || l < 0 || l > c.capacity_l) {
      trouble.value = `The level must be 0 to ${litres(c.capacity_l, volumes.value)}; got ${level.value || "nothing"}.`;
      return;
    }
    void press("set", l);
  };
  return (
    <div class="deeds">
      {deedsFor(c.role).map(([what, words]) => (
        <button key={what} class="solid" disabled={busy.value} onClick={() => void press(what)}>{words}</button>
      ))}
      <form onSubmit={set}>
        <label>It holds, {volumes.value === "l" ? "litres" : "US gallons"}<input inputMode="decimal" value={level.value} onInput={(e) => (level.value = e.currentTarget.value)} /></label>
        <button class="plain" disabled={busy.value}>Set the level</button>
      </form>
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
    </div>
  );
}
