import type { JSX } from "preact";
import { useStore } from "../context";
import { narrow } from "../state/prefs";
import { jobName } from "../words/steps";
import { hourMinute, MINUTE } from "../words/time";
import { crowds, needs, placeNeeds, SPAN_MS, TOGETHER_MS, type Crowd, type Need } from "./jobs";

const LETTER = 0.0089;
/** How long the words of a crowd are, as part of the line. */
const CROWD_WORDS = 0.13;
const MARKS = [0, 5, 10, 15, 20, 25, 30];

/** The time of day, and the line of next jobs: where a person is needed next. */
export function Head(): JSX.Element {
  const store = useStore();
  const now = store.now.value;
  store.order.value; // a unit came or went
  const list = needs(store.jobs.value, store.units().map((h) => h.unit));
  return (
    <header class="head">
      <p class="clock"><span class="unseen">Time </span>{hourMinute(now)}</p>
      {narrow.value ? <JobList list={list} now={now} /> : <JobLine list={list} now={now} />}
    </header>
  );
}

interface Props {
  list: Need[];
  now: number;
}

const crowdWords = (c: Crowd): string =>
  `${c.units} within ${Math.max(1, Math.ceil(Math.min(TOGETHER_MS, c.to - c.from) / MINUTE))} min`;

const part = (x: number): string => `${(x * 100).toFixed(2)}%`;

function JobLine({ list, now }: Props): JSX.Element {
  const store = useStore();
  const spots = placeNeeds(list, now, LETTER, (n) => ({ name: store.nameOf(n.unit), what: jobName(n.what) }));
  const near = crowds(list.filter((n) => n.due <= now + SPAN_MS));
  const at = (t: number): number => Math.min(1, Math.max(0, (t - now) / SPAN_MS));
  const covered = (x: number): boolean => near.some((c) => x > at(c.from) - 0.04 && x < at(c.from) + 0.13);
  return (
    <div class="jobline" role="img" aria-label={jobsInWords(list, now, (id) => store.nameOf(id))}>
      {spots.map((s, i) => (
        <div
          key={i}
          class={`job row${s.row}${s.flip ? " flip" : ""}${s.overdue ? " due" : ""}`}
          style={{ left: part(s.x) }}
        >
          <span class="words">
            <b>{s.name}</b> {s.overdue ? `${s.what} now` : s.what}
            {s.more > 0 && <b> +{s.more}</b>}
          </span>
        </div>
      ))}
      <div class="axis" />
      {near.map((c, i) => (
        <div key={c.from} class="crowd" style={{ left: part(at(c.from)), width: part(at(c.to) - at(c.from)) }}>
          {roomFor(near, i, at) && <span>{crowdWords(c)}</span>}
        </div>
      ))}
      {MARKS.map((m) => (
        <span key={m} class={`mark${covered(m / 30) ? " under" : ""}`} style={{ left: part(m / 30) }}>
          {m === 0 ? "now" : m === 30 ? "30 min" : m}
        </span>
      ))}
      {list.length === 0 && <span class="noone">Nobody is needed in the next half hour</span>}
    </div>
  );
}

/** Words under a crowd only where those of the one before do not reach. */
function roomFor(near: readonly Crowd[], i: number, at: (t: number) => number): boolean {
  const before = near[i - 1];
  const c = near[i];
  return before === undefined || c === undefined || at(c.from) - at(before.from) > CROWD_WORDS;
}

function JobList({ list, now }: Props): JSX.Element {
  const store = useStore();
  const near = list.filter((n) => n.due <= now + SPAN_MS);
  const together = crowds(near);
  return (
    <div class="joblist">
      <h2>Next jobs</h2>
      {near.length === 0 && <p>Nobody is needed in the next half hour.</p>}
      <ol>
        {near.slice(0, 4).map((n) => (
          <li key={n.unit + n.what}>
            <b class="in">{n.due <= now ? "now" : `${Math.ceil((n.due - now) / MINUTE)} min`}</b>
            <span><b>{store.nameOf(n.unit)}</b> {jobName(n.what)}</span>
          </li>
        ))}
      </ol>
      {together.slice(0, 1).map((c) => (
        <p key={c.from} class="clash">⨉ {crowdWords(c)}, from {hourMinute(c.from)}</p>
      ))}
    </div>
  );
}

function jobsInWords(list: Need[], now: number, name: (id: string) => string): string {
  const near = list.filter((n) => n.due <= now + SPAN_MS);
  if (near.length === 0) return "Next jobs: nobody is needed in the next half hour";
  const words = near.map((n) => `${name(n.unit)} ${jobName(n.what)} at ${hourMinute(n.due)}`).join("; ");
  const crowd = crowds(near).map((c) => `${crowdWords(c)} from ${hourMinute(c.from)}`).join("; ");
  return `Next jobs: ${words}${crowd ? `. At once: ${crowd}` : ""}`;
}
