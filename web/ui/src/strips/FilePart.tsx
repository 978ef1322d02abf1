import type { JSX } from "preact";
import { Part, Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import type { StripTable } from "../types";

/** Strips as tables: out for a spreadsheet, in from one. */
export function FilePart({ unit, process, again, mayEnter }: { unit: string; process: string; again(): Promise<void>; mayEnter: boolean }): JSX.Element {
  const act = useSend();
  const take = async (input: HTMLInputElement): Promise<void> => {
    const file = input.files?.[0];
    if (!file) return;
    const got = await act.send<StripTable>("POST", "/strips/densities.csv", await file.text());
    input.value = "";
    if (!got) return;
    const { taken, known, ignored } = got.value;
    act.done.value = `${taken === 1 ? "1 strip" : `${taken} strips`} taken in${known > 0 ? `, ${known} were there already` : ""}.${ignored.length > 0 ? ` Columns not used: ${ignored.join(", ")}.` : ""}`;
    await again();
  };
  const q = new URLSearchParams({ unit, process });
  return (
    <Part title="As a table" note="CSV, a row a strip. What goes out comes in again." class="noprint">
      <p class="doors">
        <a class="button" href={`/api/v1/strips/densities.csv?${q}`}>Densities</a>
        <a class="button" href={`/api/v1/strips.csv?${q}`}>Figures with aims and limits</a>
      </p>
      {mayEnter && (
        <p><label>Take a table in<input type="file" accept=".csv,text/csv" disabled={act.busy.value} onChange={(e) => void take(e.currentTarget)} /></label></p>
      )}
      <Said of={act} />
      <p class="tiny">Columns: read_at, unit, process and densities such as ld.r, ld.g, ld.b; mix, code, by, run and note where known. From a densitometer’s own line: wetside strips read.</p>
    </Part>
  );
}
