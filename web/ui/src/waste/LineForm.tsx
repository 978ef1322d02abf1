import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { Part, Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import { volumes } from "../state/prefs";
import { numberIn } from "../chemistry/words";
import type { WasteRow } from "../types";
import { asLitres, inVolume, volumeUnit } from "../words/measure";
import { streams } from "./words";

/** The weekly look at what stands there. */
export function CheckForm({ again }: { again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const ok = useSignal(true);
  const save = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    const text = (k: string): string => String(f.get(k) ?? "").trim();
    if (await act.send("POST", "/waste", { what: "check", initials: text("initials"), ok: ok.value, note: text("note"), ...silver(f) }, "Written.")) {
      form.reset();
      ok.value = true;
      await again();
    }
  };
  return (
    <Part title="Weekly check" note="Containers closed, labeled with content and start of accumulation, no leak, streams apart." class="noprint">
      <form class="fields" onSubmit={(e) => void save(e)}>
        <label>Initials<input name="initials" required maxLength={8} size={5} autocomplete="off" /></label>
        <fieldset>
          <legend>Found</legend>
          <button type="button" class="plain" aria-pressed={ok.value} onClick={() => (ok.value = true)}>All in order</button>
          <button type="button" class="plain" aria-pressed={!ok.value} onClick={() => (ok.value = false)}>Not in order</button>
        </fieldset>
        <label>Silver, mg/L<input name="silver_mg_per_liter" inputMode="decimal" size={6} placeholder="if tested" /></label>
        <label>Tested by<input name="silver_how" maxLength={200} size={14} placeholder="test paper" /></label>
        <label class="grow">{ok.value ? "Note" : "What was found, and what was done"}<input name="note" maxLength={1000} required={!ok.value} /></label>
        <button class="solid" disabled={act.busy.value}>Write the check</button>
      </form>
      <Said of={act} />
    </Part>
  );
}

const silver = (f: FormData): { silver_mg_per_liter?: number; silver_how?: string } => {
  const v = numberIn(f.get("silver_mg_per_liter"));
  const how = String(f.get("silver_how") ?? "").trim();
  return { ...(v !== undefined && { silver_mg_per_liter: v }), ...(how && { silver_how: how }) };
};

/** What went out that no unit's container tells of: a drum that the hauler took. */
export function LineForm({ again }: { again(): Promise<void> }): JSX.Element {
  const act = useSend();
  return (
    <Part title="Write a line" note="A drum that the hauler took, a bottle discarded. A unit's own containers are in the log when you press Emptied on them." class="noprint">
      <Fields act={(body) => act.send("POST", "/waste", { what: "emptied", ...body }, "Written.")} done={again} busy={act.busy.value} word="Write the line" />
      <Said of={act} />
    </Part>
  );
}

interface FieldsProps {
  row?: WasteRow;
  act(body: Record<string, unknown>): Promise<unknown>;
  done(): Promise<void>;
  busy: boolean;
  word: string;
}

/** The fields of an emptying. */
export function Fields({ row, act, done, busy, word }: FieldsProps): JSX.Element {
  const as = volumes.value;
  const day = (at: string | undefined): string => at?.slice(0, 10) ?? "";
  const save = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    const text = (k: string): string => String(f.get(k) ?? "").trim();
    const said = numberIn(f.get("volume"));
    const shown = row?.litres === undefined ? undefined : Math.round(inVolume(row.litres, as) * 10) / 10;
    const same = said !== undefined && said === shown;
    const since = text("since");
    const body = {
      stream: text("stream"), to: text("to"), drum: text("drum"), hauler: text("hauler"), manifest: text("manifest"), note: text("note"), ...silver(f),
      ...(said !== undefined && (same ? { litres: row?.litres, litres_by: row?.litres_by ?? "person" } : { litres: Math.round(asLitres(said, as) * 1000) / 1000, litres_by: "person" })),
      ...(since && { since: new Date(`${since}T12:00:00`).toISOString() }),
      ...(row && { unit: row.unit, container: row.container, version: row.version, ...(row.version > 0 && { why: text("why") }) }),
    };
    if (await act(body)) {
      if (!row) form.reset();
      await done();
    }
  };
  return (
    <form class="fields" onSubmit={(e) => void save(e)}>
      <label>Stream<select name="stream"><option value="">not said</option>{streams.map(([id, words]) => <option key={id} value={id} selected={row?.stream === id}>{words}</option>)}</select></label>
      <label>Volume, {volumeUnit(as)}<input name="volume" inputMode="decimal" size={6} defaultValue={row?.litres === undefined ? "" : String(Math.round(inVolume(row.litres, as) * 10) / 10)} /></label>
      <label class="grow">Where to<input name="to" maxLength={200} defaultValue={row?.to ?? ""} placeholder="drum, recovery unit, hauler" /></label>
      <label>Drum<input name="drum" maxLength={200} size={8} defaultValue={row?.drum ?? ""} /></label>
      <label>Its start of accumulation<input name="since" type="date" defaultValue={day(row?.since)} /></label>
      <label>Hauler<input name="hauler" maxLength={200} size={12} defaultValue={row?.hauler ?? ""} /></label>
      <label>Manifest<input name="manifest" maxLength={200} size={12} defaultValue={row?.manifest ?? ""} /></label>
      <label>Silver, mg/L<input name="silver_mg_per_liter" inputMode="decimal" size={6} defaultValue={row?.silver_mg_per_liter === undefined ? "" : String(row.silver_mg_per_liter)} /></label>
      <label>Tested by<input name="silver_how" maxLength={200} size={12} defaultValue={row?.silver_how ?? ""} /></label>
      <label class="grow">Note<input name="note" maxLength={1000} defaultValue={row?.note ?? ""} /></label>
      {row && row.version > 0 && <label class="grow">Why is it corrected<input name="why" required maxLength={200} /></label>}
      <button class="solid" disabled={busy}>{word}</button>
    </form>
  );
}
