import type { JSX } from "preact";
import { useMemo } from "preact/hooks";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { volumes } from "../state/prefs";
import type { LevelList, LevelPoint, Unit } from "../types";
import { containerName } from "../words/container";
import { inVolume, volumeUnit } from "../words/measure";
import { moment } from "../words/time";
import { LevelsChart } from "./LevelsChart";
import { levelColumns, levelRows } from "./levels";

const spans: [hours: number, words: string, rowMinutes: number][] = [[1, "last hour", 5], [6, "6 hours", 30], [48, "48 hours", 240]];

/** What the containers held over the last hours: drawn, and as a table. */
export function LevelsPart({ unit: { id, containers } }: { unit: Unit }): JSX.Element {
  const store = useStore();
  const hours = useSignal(1);
  // A path of its own each half minute: what is new is asked for with it.
  const to = useComputed(() => Math.ceil(store.now.value / 30_000) * 30_000).value;
  const from = to - hours.value * 3_600_000;
  const { got, again } = useGet<LevelList>(`/units/${id}/levels?${new URLSearchParams({ from: new Date(from).toISOString(), to: new Date(to).toISOString() })}`, 0);
  const kept = useSignal<LevelPoint[]>([]);
  if (got.value.value && got.value.value.points !== kept.peek()) kept.value = got.value.value.points;
  const points = kept.value;
  // Bottles are in the table: a dozen lines on each other say nothing.
  const big = containers.filter((c) => c.role !== "bottle");
  const bottles = containers.filter((c) => c.role === "bottle").map((c) => c.name).join();
  const called = JSON.stringify(containers.map((c) => [c.name, containerName(c)]));
  const words = useMemo(() => Object.fromEntries(JSON.parse(called) as [string, string][]), [called]);
  const data = useMemo(() => levelColumns(points), [points]);
  const drawn = useMemo(() => ({ ...data, names: data.names.filter((n) => !bottles.split(",").includes(n)) }), [data, bottles]);
  const minutes = spans.find(([h]) => h === hours.value)?.[2] ?? 30;
  return (
    <Part title="Levels" note="What the sensors of the containers said. The top is what the largest holds; bottles are in the table.">
      <div class="filters">
        <fieldset>
          <legend class="unseen">How far back</legend>
          {spans.map(([h, words]) => <button key={h} class="plain" aria-pressed={hours.value === h} onClick={() => (hours.value = h)}>{words}</button>)}
        </fieldset>
      </div>
      {points.length === 0 && <Waiting got={got.value} again={again} what="The levels" />}
      {got.value.value && points.length === 0 && <p class="empty">No level received in this time. A container without a sensor goes by what people enter.</p>}
      {points.length > 0 && (
        <div class="wide">
          <LevelsChart data={drawn} words={words} most={Math.max(0, ...big.map((c) => c.capacity_l))} volume={volumes.value} from={from / 1000} to={to / 1000} />
          <Table points={points} names={data.names} words={words} minutes={minutes} now={to} />
        </div>
      )}
    </Part>
  );
}

function Table({ points, names, words, minutes, now }: { points: readonly LevelPoint[]; names: readonly string[]; words: Record<string, string>; minutes: number; now: number }): JSX.Element {
  const open = useSignal(false);
  return (
    <details open={open.value} onToggle={(e) => (open.value = e.currentTarget.open)}>
      <summary>The same as a table, every {minutes < 60 ? `${minutes} minutes` : `${minutes / 60} hours`}</summary>
      {open.value && (
        <div class="scroll tall" tabIndex={0} role="region" aria-label="Levels, the last in each stretch">
          <table>
            <thead><tr><th scope="col">At</th>{names.map((n) => <th key={n} scope="col">{words[n] ?? n}, {volumeUnit(volumes.value)}</th>)}</tr></thead>
            <tbody>
              {levelRows(points, minutes).map((r) => <tr key={r.at}><th scope="row">{moment(Date.parse(r.at), now)}</th>{names.map((n) => <td key={n}>{r.levels_l[n] === undefined ? "" : inVolume(r.levels_l[n] ?? 0, volumes.value).toFixed(1)}</td>)}</tr>)}
            </tbody>
          </table>
        </div>
      )}
    </details>
  );
}
