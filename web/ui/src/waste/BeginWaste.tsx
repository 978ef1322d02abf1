import type { JSX, TargetedSubmitEvent } from "preact";
import { useStore } from "../context";
import { Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import type { WasteLog } from "../types";
import { streams } from "./words";

/** Begins the log, or changes what collects what. */
export function BeginWaste({ log, again }: { log: WasteLog; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const act = useSend();
  const names = [...new Set([...store.units().flatMap((h) => h.unit.containers.filter((c) => c.role === "waste" || c.role === "recovery").map((c) => c.name)), ...Object.keys(log.streams ?? {})])].sort();
  const save = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const f = new FormData(e.currentTarget);
    const pick = (k: string): Record<string, string> => Object.fromEntries(names.map((n) => [n, String(f.get(`${k} ${n}`) ?? "").trim()]).filter(([, v]) => v !== ""));
    const body = { started_at: log.started_at ?? new Date().toISOString(), site: String(f.get("site") ?? "").trim(), streams: pick("stream"), to: pick("to") };
    if (await act.send("PUT", "/waste/settings", body, log.started_at ? "Saved." : "The log has begun.")) await again();
  };
  return (
    <form class="stack" onSubmit={(e) => void save(e)}>
      <label class="grow">Name and address of the lab, as they stand on the log<input name="site" maxLength={200} defaultValue={log.site ?? ""} /></label>
      {names.map((n) => (
        <div class="fields" key={n}>
          <label>{n} collects
            <select name={`stream ${n}`} defaultValue={log.streams?.[n] ?? ""}><option value="">not said</option>{streams.map(([id, words]) => <option key={id} value={id} selected={log.streams?.[n] === id}>{words}</option>)}</select>
          </label>
          <label class="grow">and is usually emptied into<input name={`to ${n}`} maxLength={200} defaultValue={log.to?.[n] ?? ""} placeholder="drum 3; recovery unit" /></label>
        </div>
      ))}
      <button class="solid" disabled={act.busy.value}>{log.started_at ? "Save" : "Begin the waste log"}</button>
      <Said of={act} />
    </form>
  );
}
