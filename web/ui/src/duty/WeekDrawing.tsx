import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { daysWords, dayShort, days, hoursWords, joined } from "../words/duty";
import type { Plan, Swap } from "./types";
import { datePlus, emptyStretches, mondayOf, stretches, stretchWords, weekRows, WEEK_MIN, type Bar, type Row, type Stretch, type Wall } from "./week";

const part = (m: number): string => `${(m / WEEK_MIN) * 100}%`;
const span = (s: Stretch): { left: string; width: string } => ({ left: part(s.from), width: part(s.to - s.from) });

/** The week as it is planned, with the swaps in it: a row a person on seven days, who is called first filled, the others outlined. */
export function WeekDrawing({ plan, swaps, wall }: { plan: Plan; swaps: readonly Swap[]; wall: Wall }): JSX.Element {
  const ahead = useSignal(0);
  const monday = datePlus(mondayOf(wall), 7 * ahead.value);
  const rows = weekRows(plan.hours, swaps, monday);
  const empty = emptyStretches(rows);
  const quiet = plan.quiet.flatMap((q) => stretches(q));
  const swapped = rows.some((r) => r.bars.some((b) => b.as !== "planned"));
  return (
    <div class="wide">
      <p class="weekturn" role="group" aria-label="Which week is drawn">
        <button class="plain" disabled={ahead.value === 0} onClick={() => (ahead.value -= 1)}>{ahead.value === 1 ? "This week" : "The week before"}</button>
        <b class="num" aria-live="polite">{ahead.value === 0 ? "This week" : `Week of ${dateShort(monday)}`}</b>
        <button class="plain" onClick={() => (ahead.value += 1)}>{ahead.value === 0 ? "Next week" : "The week after"}</button>
      </p>
      <div class="week" role="img" aria-label={weekLabel(rows, monday)}>
        <div class="weekdays" aria-hidden="true">
          {days.map((d, i) => <span key={d} class={ahead.value === 0 && d === wall.day ? "today" : ""}>{dayShort(d)} <small class="num">{Number(datePlus(monday, i).slice(8))}</small></span>)}
        </div>
        {rows.map((r) => (
          <div class="weekrow" key={r.person}>
            <b>{r.person}</b>
            <div class="track">
              {r.bars.map((b) => <i key={`${b.from}-${b.place}-${b.as}`} class={barClass(b)} style={span(b)}>{b.as === "off" ? <em>off</em> : b.to - b.from >= 8 * 60 && <em>{b.place}</em>}</i>)}
            </div>
          </div>
        ))}
        {empty.length > 0 && (
          <div class="weekrow nobody">
            <b>Nobody</b>
            <div class="track">{empty.map((s) => <i key={s.from} class="gap" style={span(s)} />)}</div>
          </div>
        )}
        {quiet.length > 0 && (
          <div class="weekrow">
            <b>Quiet</b>
            <div class="track low">{quiet.map((s) => <i key={s.from} class="quiet" style={span(s)} />)}</div>
          </div>
        )}
        {ahead.value === 0 && <div class="weeknow" aria-hidden="true"><i style={{ left: part(wall.minute) }} /></div>}
      </div>
      <p class="weekkey tiny" aria-hidden="true">
        <span><i class="firstbar" /> called first</span>
        <span><i class="laterbar" /> called after them</span>
        {swapped && <span><i class="firstbar inbar" /> stands in (swap)</span>}
        {swapped && <span><i class="offbar" /> off (swap)</span>}
        <span><i class="gap" /> nobody on call</span>
        {quiet.length > 0 && <span><i class="quiet" /> quiet: high waits, urgent does not</span>}
        {ahead.value === 0 && <span>the needle is now</span>}
      </p>
    </div>
  );
}

const barClass = (b: Bar): string => (b.as === "off" ? "offbar" : `${b.place === 1 ? "firstbar" : "laterbar"}${b.as === "in" ? " inbar" : ""}`);

/** "7 Dec" */
const dateShort = (date: string): string => new Date(`${date}T12:00:00`).toLocaleDateString("en-US", { day: "numeric", month: "short" });

/** What the drawing shows that the hours in words below it do not: the swaps. */
function weekLabel(rows: readonly Row[], monday: string): string {
  const swaps = rows.flatMap((r) => r.bars.filter((b) => b.as !== "planned").map((b) => `${stretchWords(b)}: ${r.person} ${b.as === "in" ? "stands in" : "is off"}`));
  return `The week of ${dateShort(monday)}. ${swaps.length > 0 ? `Swaps: ${swaps.join("; ")}. ` : ""}The planned hours in words stand below.`;
}

/** The same in words. */
export function HoursWords({ plan }: { plan: Plan }): JSX.Element {
  const hours = plan.hours;
  if (hours.length === 0) return <p><b>No hours are set:</b> nobody is on call, and an urgent alert calls everybody who can be reached.</p>;
  return (
    <ul class="lines">
      {hours.map((h, i) => (
        <li key={i}>
          <span><b>{sentence(daysWords(h.days))}</b> {hoursWords(h.from, h.to)}:</span>
          <span>{h.people.length === 1 ? h.people[0] : `first ${h.people[0]}, then ${joined(h.people.slice(1))}`}</span>
        </li>
      ))}
    </ul>
  );
}

const sentence = (s: string): string => s.charAt(0).toUpperCase() + s.slice(1);

