import type { JSX } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { narrow } from "../state/prefs";
import { jobName } from "../words/steps";
import { hourMinute } from "../words/time";
import { crowds, needs, SPAN_MS, type Crowd, type Need } from "./jobs";
import { crowdWords, tickets, type Ticket } from "./queue";

/** So many tickets at most stand in the head of a wall, so many on a phone. */
const WIDE = 5;
const NARROW = 4;
const MARKS = [0, 5, 10, 15, 20, 25, 30];
/** A dot or a word that moved by less than this part of the line has not moved. */
const STEADY_MS = 5000;

/** The time of day, and the next jobs: where a person is needed next. */
export function Head(): JSX.Element {
  return (
    <header class="head">
      <Clock />
      <NextJobs />
    </header>
  );
}

function Clock(): JSX.Element {
  const store = useStore();
  const time = useComputed(() => hourMinute(store.now.value));
  return <p class="clock num"><span class="unseen">Time </span>{time.value}</p>;
}

interface Picture {
  list: Ticket[];
  near: Crowd[];
  dots: { at: number; overdue: boolean }[];
  spoken: string;
}

/** What the head shows, as text: it is drawn again only when that has changed. */
function usePicture(): Picture {
  const store = useStore();
  const text = useComputed(() => {
    const now = Math.floor(store.now.value / STEADY_MS) * STEADY_MS;
    store.order.value; // a unit came or went
    const all = needs(store.jobs.value, store.units().map((h) => h.unit));
    const soon = all.filter((n) => n.due <= now + SPAN_MS);
    const near = crowds(soon);
    const list = tickets(soon, near, store.now.value);
    const dots = soon.filter((n) => !n.patient).map((n) => ({ at: part(n.due, now), overdue: n.due < now }));
    const steady = near.map((c) => ({ ...c, from: Math.round(part(c.from, now) * 1e4), to: Math.round(part(c.to, now) * 1e4), words: crowdWords(c) }));
    return JSON.stringify({ list, near: steady, dots, spoken: inWords(soon, near, now, (id) => store.nameOf(id)) });
  });
  return JSON.parse(text.value) as Picture;
}

const part = (t: number, now: number): number => Math.round(Math.min(1, Math.max(0, (t - now) / SPAN_MS)) * 1e4) / 1e4;

function NextJobs(): JSX.Element {
  const p = usePicture();
  const store = useStore();
  const row = useRef<HTMLOListElement>(null);
  const most = useFitting(row, p.list.map((t) => `${t.when}${store.nameOf(t.unit)}${t.what}`).join());
  const shown = p.list.slice(0, most);
  return (
    <section class="jobs" aria-label="Next jobs">
      {/* Nothing is known before the first snapshot: no calm is told then. */}
      <p class="unseen">{store.ready.value ? p.spoken : ""}</p>
      {p.list.length === 0 && store.ready.value && <p class="noone">Nobody is needed in the next half hour</p>}
      <ol class="tickets" aria-hidden="true" ref={row}>
        {shown.map((t, i) => (
          <li
            key={t.key}
            class={`ticket${t.overdue ? " due" : ""}${t.crowd >= 0 ? " crowded" : ""}${t.crowd >= 0 && shown[i + 1]?.crowd === t.crowd ? " joined" : ""}`}
          >
            <span class="line"><b class="num">{t.when.replace(" min", "")}{t.when.endsWith("min") && <small> min</small>}</b> <b class="whose">{store.nameOf(t.unit)}</b></span>
            <span class="line what">{jobName(t.what)}</span>
          </li>
        ))}
        {p.list.length > most && <li class="rest">+{p.list.length - most}<span> more</span></li>}
      </ol>
      {p.list.length > 0 && <Line p={p} />}
    </section>
  );
}

/** So many tickets stand in the row whole: rather one fewer than a word cut. `what` tells when to count anew. */
function useFitting(row: { current: HTMLElement | null }, what: string): number {
  const width = useSignal(0);
  const fit = useSignal({ key: "", most: 0 });
  const key = `${what}|${width.value}|${narrow.value}`;
  const most = fit.value.key === key ? fit.value.most : narrow.value ? NARROW : WIDE;
  useLayoutEffect(() => {
    const el = row.current;
    if (el && !narrow.peek() && most > 1 && el.scrollWidth > el.clientWidth + 1) fit.value = { key, most: most - 1 };
  });
  useLayoutEffect(() => {
    const el = row.current;
    if (!el) return;
    const seen = new ResizeObserver(() => (width.value = el.clientWidth));
    seen.observe(el);
    return () => seen.disconnect();
  }, []);
  return most;
}

const percent = (x: number): string => `${(x * 100).toFixed(2)}%`;

/** The half hour to come: a dot for each job, a bar where they crowd. */
function Line({ p }: { p: Picture }): JSX.Element {
  const near = p.near as unknown as { from: number; to: number; words: string }[];
  const words = narrow.value ? WORDS_NARROW : WORDS;
  const flips = (from: number): boolean => from / 1e4 + words > 1;
  const under = (x: number): boolean =>
    near.some((c) => (flips(c.from) ? x < c.to / 1e4 + 0.03 && x > c.to / 1e4 - words : x > c.from / 1e4 - 0.03 && x < c.from / 1e4 + words));
  return (
    <div class="jobline" aria-hidden="true">
      <i class="axis" />
      {p.dots.map((d, i) => <i key={i} class={`dot${d.overdue ? " due" : ""}`} style={{ left: percent(d.at) }} />)}
      {near.map((c, i) => (
        <span
          key={c.from}
          class={`crowd${flips(c.from) ? " flip" : ""}`}
          style={{ left: percent(c.from / 1e4), width: percent((c.to - c.from) / 1e4) }}
        >
          {(i === 0 || c.from - (near[i - 1]?.from ?? 0) > words * 1e4) && <b>{c.words}</b>}
        </span>
      ))}
      {MARKS.filter((m) => !narrow.value || m % 10 === 0).map((m) => (
        <span key={m} class={`mark${under(m / 30) ? " under" : ""}`} style={{ left: percent(m / 30) }}>
          {m === 0 ? "now" : m === 30 ? "30 min" : m}
        </span>
      ))}
    </div>
  );
}

/** How much of the line the words of a crowd take. */
const WORDS = 0.25;
const WORDS_NARROW = 0.6;

function inWords(soon: Need[], near: Crowd[], now: number, name: (id: string) => string): string {
  if (soon.length === 0) return "Nobody is needed in the next half hour";
  const words = soon.map((n) => `${name(n.unit)} ${jobName(n.what)} ${n.due <= now ? "now" : `at ${hourMinute(n.due)}`}`).join("; ");
  const crowd = near.map((c) => `${crowdWords(c)}, from ${hourMinute(c.from)}`).join("; ");
  return `${words}${crowd ? `. At once: ${crowd}` : ""}`;
}
