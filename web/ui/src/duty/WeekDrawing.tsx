import type { JSX } from "preact";
import { daysWords, dayShort, days, hoursWords, joined } from "../words/duty";
import type { Plan } from "./types";
import { emptyStretches, stretches, weekRows, WEEK_MIN, type Stretch, type Wall } from "./week";

const part = (m: number): string => `${(m / WEEK_MIN) * 100}%`;
const span = (s: Stretch): { left: string; width: string } => ({ left: part(s.from), width: part(s.to - s.from) });

/** The week as it is planned: a row a person on seven days, who is called first filled, the others outlined. */
export function WeekDrawing({ plan, wall }: { plan: Plan; wall: Wall }): JSX.Element {
  const hours = plan.hours ?? [];
  const rows = weekRows(hours);
  const empty = emptyStretches(hours);
  const quiet = (plan.quiet ?? []).flatMap((q) => stretches(q));
  return (
    <div class="wide">
      <div class="week" role="img" aria-label="The week as a drawing; the hours in words stand below it">
        <div class="weekdays" aria-hidden="true">
          {days.map((d) => <span key={d} class={d === wall.day ? "today" : ""}>{dayShort(d)}</span>)}
        </div>
        {rows.map((r) => (
          <div class="weekrow" key={r.person}>
            <b>{r.person}</b>
            <div class="track">
              {r.bars.map((b) => <i key={`${b.from}-${b.place}`} class={b.place === 1 ? "firstbar" : "laterbar"} style={span(b)}>{b.to - b.from >= 8 * 60 && <em>{b.place}</em>}</i>)}
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
        <div class="weeknow" aria-hidden="true"><i style={{ left: part(wall.minute) }} /></div>
      </div>
      <p class="weekkey tiny" aria-hidden="true">
        <span><i class="firstbar" /> called first</span>
        <span><i class="laterbar" /> called after them</span>
        <span><i class="gap" /> nobody on</span>
        {quiet.length > 0 && <span><i class="quiet" /> quiet: high waits, urgent does not</span>}
        <span>the needle is now</span>
      </p>
    </div>
  );
}

/** The same in words. */
export function HoursWords({ plan }: { plan: Plan }): JSX.Element {
  const hours = plan.hours ?? [];
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

