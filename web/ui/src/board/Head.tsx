import type { JSX } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { narrow } from "../state/prefs";
import { jobName } from "../words/steps";
import { hourMinute } from "../words/time";
import { placeLabels } from "./jobline";
import { apart, crowds, needs, SPAN_MS, type Crowd, type Need } from "./jobs";
import { OnCallNow } from "./OnCallNow";
import { crowdWords, tickets, type Ticket } from "./queue";
import { letters } from "./segments";

/** So many tickets at most stand in the head of a wall, so many on a phone. */
const WIDE = 5;
const NARROW = 4;
/** A dot or a word that moved by less than this part of the line has not moved. */
const STEADY_MS = 5000;

/** The time of day, and the next jobs: where a person is needed next. */
export function Head(): JSX.Element {
  return (
    <header class="head">
      <div class="clockbox">
        <Clock />
        <OnCallNow />
      </div>
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
  /** The units that can be loaded. */
  ready: string[];
  /** By when this is: the line is drawn anew in small steps. */
  now: number;
  dots: { at: number; overdue: boolean }[];
  spoken: string;
}

/** What the head shows, as text: it is drawn again only when that has changed. */
function usePicture(): Picture {
  const store = useStore();
  const text = useComputed(() => {
    const now = Math.floor(store.now.value / STEADY_MS) * STEADY_MS;
    store.order.value; // a unit came or went
    const { jobs, ready } = apart(needs(store.jobs.value, store.units().map((h) => h.unit)));
    const soon = jobs.filter((n) => n.due <= now + SPAN_MS);
    const near = crowds(soon);
    const list = tickets(soon, near, store.now.value);
    const dots = soon.filter((n) => !n.patient).map((n) => ({ at: part(n.due, now), overdue: n.due < now }));
    const name = (id: string): string => store.nameOf(id);
    return JSON.stringify({ list, near, ready: ready.map(name).sort(), now, dots, spoken: inWords(soon, near, now, name) + readyWords(ready.map(name)) });
  });
  return JSON.parse(text.value) as Picture;
}

const part = (t: number, now: number): number => Math.round(Math.min(1, Math.max(0, (t - now) / SPAN_MS)) * 1e4) / 1e4;

function NextJobs(): JSX.Element {
  const p = usePicture();
  const store = useStore();
  const row = useRef<HTMLOListElement>(null);
  const most = useFitting(row, p.list.map((t) => `${t.when}${store.nameOf(t.unit)}${t.what}`).join() + p.ready.join());
  const shown = p.list.slice(0, most);
  return (
    <section class="jobs" aria-label="Next jobs">
      {/* Nothing is known before the first snapshot: no calm is told then. */}
      <p class="unseen">{store.ready.value ? p.spoken : ""}</p>
      <div class="tickets" aria-hidden="true">
        {p.list.length === 0 && store.ready.value && <p class="noone">Nobody is needed in the next half hour</p>}
        <ol ref={row}>
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
        {p.ready.length > 0 && <Ready names={p.ready} />}
      </div>
      {p.list.length > 0 && <Line p={p} />}
    </section>
  );
}

/** So many letters of names stand under the count of units that can be loaded. */
const READY_LETTERS = 20;

/** The units that can be loaded: how many, and which as far as there is room. */
function Ready({ names }: { names: readonly string[] }): JSX.Element {
  const whole = names.join(", ");
  const some = letters(whole) <= READY_LETTERS || narrow.value ? whole : "";
  return (
    <p class="readyones">
      <span class="line"><b class="num">{names.length}</b> ready</span>
      {some && <span class="line what">{some}</span>}
      {!some && <span class="line what">to load</span>}
    </p>
  );
}

const readyWords = (names: readonly string[]): string => (names.length === 0 ? "" : `. Ready to load: ${[...names].sort().join(", ")}`);

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

/** The letters of the line as part of its width: on a wall, on a desk, in one column. */
const LETTER = 0.61;

/** The half hour to come: a dot for each job, a bar where they crowd. */
function Line({ p }: { p: Picture }): JSX.Element {
  const box = useRef<HTMLDivElement>(null);
  const em = useSignal(0.01);
  useLayoutEffect(() => {
    const el = box.current;
    if (!el) return;
    const look = (): void => {
      const next = (parseFloat(getComputedStyle(el).fontSize) * LETTER) / Math.max(1, el.clientWidth);
      if (Math.abs(next - em.peek()) > 1e-4) em.value = next;
    };
    look();
    const seen = new ResizeObserver(look);
    seen.observe(el);
    return () => seen.disconnect();
  }, []);
  const labels = placeLabels(p.near, p.now, em.value, narrow.value ? 10 : 5);
  return (
    <div class="jobline" aria-hidden="true" ref={box}>
      <i class="axis" />
      {p.dots.map((d, i) => <i key={i} class={`dot${d.overdue ? " due" : ""}`} style={{ left: percent(d.at) }} />)}
      {p.near.map((c) => <i key={c.from} class="crowd" style={{ left: percent(part(c.from, p.now)), width: percent(part(c.to, p.now) - part(c.from, p.now)) }} />)}
      {labels.map((l) => (
        <span
          key={l.text + l.side + (l.crowd ? "c" : "")} class={l.crowd ? "mark crowdwords" : `mark ${l.side}`}
          style={l.side === "right" ? { right: percent(1 - l.to) } : { left: percent(l.side === "middle" ? (l.from + l.to) / 2 : l.from) }}
        >{l.text}</span>
      ))}
    </div>
  );
}

function inWords(soon: Need[], near: Crowd[], now: number, name: (id: string) => string): string {
  if (soon.length === 0) return "Nobody is needed in the next half hour";
  const words = soon.map((n) => `${name(n.unit)} ${jobName(n.what)} ${n.due <= now ? "now" : `at ${hourMinute(n.due)}`}`).join("; ");
  const crowd = near.map((c) => `${crowdWords(c)}, from ${hourMinute(c.from)}`).join("; ");
  return `${words}${crowd ? `. At once: ${crowd}` : ""}`;
}
