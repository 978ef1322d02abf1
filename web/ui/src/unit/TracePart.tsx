import type { JSX } from "preact";
import { useMemo } from "preact/hooks";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part } from "../shared/parts";
import { degrees } from "../state/prefs";
import type { Unit } from "../types";
import { inDegrees } from "../words/measure";
import { moment, ms } from "../words/time";
import { Chart } from "./Chart";
import { bands, channels, channelWords, columns, spans, tableRows, THIS_RUN } from "./trace";
import { useTrace } from "./useTrace";

/** The unit's temperatures over the last hours: drawn, and as a table. */
export function TracePart({ unit }: { unit: Unit }): JSX.Element {
  const store = useStore();
  const began = ms(unit.run?.started_at);
  const picked = useSignal(THIS_RUN);
  const hours = picked.value === THIS_RUN && began === null ? 1 : picked.value;
  const got = useTrace(unit.id, hours, began).value;
  // The drawing moves on every five seconds, not with every tick.
  const now = useComputed(() => Math.floor(store.seen.value / 5000) * 5000).value;
  const points = got.points ?? [];
  const data = useMemo(() => columns(points), [got.points]);
  const span = spans.find(([h]) => h === hours) ?? spans[0];
  const from = hours === THIS_RUN && began !== null ? began - 30_000 : now - hours * 3_600_000;
  return (
    <Part title="Temperatures" note="The band is the tolerance of the step while the bath is in it. What is outside is drawn outside. Room and dryer are in the table.">
      <div class="filters">
        <fieldset>
          <legend class="unseen">How far back</legend>
          {spans.filter(([h]) => h !== THIS_RUN || began !== null).map(([h, words]) => <button key={h} class="plain" aria-pressed={hours === h} onClick={() => (picked.value = h)}>{words}</button>)}
        </fieldset>
      </div>
      {got.trouble && <p class="trouble" role="alert">The readings could not be fetched: {got.trouble}</p>}
      {got.points === null && !got.trouble && <p role="status">One moment…</p>}
      {got.points !== null && points.length === 0 && <p class="empty">No reading received in this time. A unit that is idle may send none; look further back.</p>}
      {points.length > 0 && (
        <div class="wide">
          <Chart data={data} bands={bands(unit.run?.plan ?? [], now)} degrees={degrees.value} from={from / 1000} to={now / 1000} />
          <TraceTable points={points} minutes={span?.[2] ?? 2} now={now} />
        </div>
      )}
    </Part>
  );
}

function TraceTable({ points, minutes, now }: { points: Parameters<typeof tableRows>[0]; minutes: number; now: number }): JSX.Element {
  const open = useSignal(false);
  return (
    <details open={open.value} onToggle={(e) => (open.value = e.currentTarget.open)}>
      <summary>The same as a table, every {minutes === 1 ? "minute" : `${minutes} minutes`}</summary>
      {open.value && <Table points={points} minutes={minutes} now={now} />}
    </details>
  );
}

function Table({ points, minutes, now }: { points: Parameters<typeof tableRows>[0]; minutes: number; now: number }): JSX.Element {
  const rows = tableRows(points, minutes);
  const shown = channels.filter((c) => rows.some((r) => r.of[c]));
  const d = degrees.value;
  const words = (v: [number, number] | undefined): string => {
    if (!v) return "";
    const [a, b] = v.map((x) => inDegrees(x, d).toFixed(1));
    return a === b ? `${a}` : `${a}–${b}`;
  };
  return (
    <div class="scroll tall" tabIndex={0} role="region" aria-label="Temperatures, lowest to highest in each stretch">
      <table>
        <thead><tr><th scope="col">From</th>{shown.map((c) => <th key={c} scope="col">{channelWords[c]}, °{d}</th>)}</tr></thead>
        <tbody>
          {rows.map((r) => <tr key={r.at}><th scope="row">{moment(r.at, now)}</th>{shown.map((c) => <td key={c}>{words(r.of[c])}</td>)}</tr>)}
        </tbody>
      </table>
    </div>
  );
}
