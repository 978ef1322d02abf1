import type { JSX } from "preact";
import { useComputed, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { wayWord } from "../words/alert";
import { daysWords, hoursWords, joined, stepsWords } from "../words/duty";
import { hourMinute, moment, ms } from "../words/time";
import { ContactsForm, ContactsPart } from "./ContactsPart";
import { DutyLog } from "./DutyLog";
import { TestResults, usePageTest } from "./PageTestPart";
import { PlanEditor } from "./PlanEditor";
import { SwapsPart } from "./SwapsPart";
import type { Contacts, DutyNow } from "./types";
import { nextChange, onDuty, wallAt, type Wall } from "./week";
import { HoursWords, WeekDrawing } from "./WeekDrawing";
import "./duty.css";

/** Who is called, when, and how hard; and the ways to each. */
export function DutyPage(): JSX.Element {
  const { got, again } = useGet<DutyNow>("/duty", 20_000);
  const d = got.value.value;
  return (
    <section class="list paper duty">
      <h1>On call</h1>
      <Waiting got={got.value} again={again} what="The on-call plan" />
      {d && <Shown d={d} again={again} />}
    </section>
  );
}

function Shown({ d, again }: { d: DutyNow; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const editing = useSignal(false);
  const minute = useComputed(() => Math.floor(store.now.value / 60_000)).value;
  const wall = wallAt(minute * 60_000, d.plan.time_zone);
  const zone = d.plan.time_zone || "UTC";
  return (
    <>
      <OnNow d={d} wall={wall} again={again} />
      <Warnings d={d} />
      <Part title="The week" note={`By the clock on the lab's wall (${zone}).`}>
        {!editing.value && <WeekDrawing plan={d.plan} swaps={d.swaps} wall={wall} />}
        {!editing.value && <HoursWords plan={d.plan} />}
        {editing.value && <PlanEditor d={d} again={again} close={() => (editing.value = false)} />}
        {may.set && !editing.value && <button class="plain" onClick={() => (editing.value = true)}>Change hours and steps</button>}
        {d.set && d.changed_by && <p class="tiny">Last changed by {d.changed_by}{ms(d.changed_at) !== null && `, ${moment(ms(d.changed_at) ?? 0, store.now.value)}`}.</p>}
      </Part>
      {!editing.value && <StepsPart d={d} />}
      <SwapsPart d={d} today={wall.date} again={again} />
      <PeoplePart d={d} />
      {may.me && <ContactsPart key={may.me} person={may.me} />}
      <DutyLog stamp={`${d.version} ${d.swaps.length}`} />
    </>
  );
}

/** The first thing to read: who is on, who is next, and whose phone is dark. */
function OnNow({ d, wall, again }: { d: DutyNow; wall: Wall; again(): Promise<void> }): JSX.Element {
  const on = d.on;
  // The server's word counts for now; the plan says what comes next.
  const planned = onDuty(d.plan, d.swaps, wall);
  const next = nextChange(d.plan, d.swaps, wall);
  const cannot = (name: string): string => d.people.find((p) => p.name === name && !p.reachable)?.why ?? "";
  const dark = (name: string): string => {
    const until = ms(d.dark.find((x) => x.person === name)?.until);
    return until === null ? "" : `in the dark until ${hourMinute(until)}`;
  };
  return (
    <div class={`slipbox onnow${on.length === 0 ? " nobody" : ""}`}>
      <div>
        <p class="muted">On now</p>
        {on.length === 0 ? <p class="big">Nobody</p> : (
          <ol>
            {on.map((name, i) => (
              <li key={name} class={i === 0 ? "big" : "then"}>
                {i > 0 && <span class="muted">{i === 1 ? "then " : "and "}</span>}
                {name} {cannot(name) && <span class="unreach">cannot be reached: {cannot(name)}</span>} {dark(name) && <span class="darktag">{dark(name)}</span>}
              </li>
            ))}
          </ol>
        )}
      </div>
      <div>
        <p class="muted">Next</p>
        {next ? <p class="nextone"><b class="num">{next.when}</b> {next.on.length === 0 ? "nobody" : joined(next.on)}</p> : <p>{planned.length === 0 ? "No hours are planned." : "Nothing changes this week."}</p>}
        {ms(d.quiet_until) !== null && <p>Quiet until <b class="num">{hourMinute(ms(d.quiet_until) ?? 0)}</b>: high alerts wait, urgent ones do not.</p>}
      </div>
      <Dark d={d} again={again} />
    </div>
  );
}

function Dark({ d, again }: { d: DutyNow; again(): Promise<void> }): JSX.Element | null {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  if (!may.enter) return null;
  const mine = d.dark.some((x) => x.person === may.me);
  const set = async (minutes: number): Promise<void> => {
    if (await act.send("POST", "/duty/dark", { minutes })) await Promise.all([again(), store.duty.ask()]);
  };
  return (
    <div class="darkbox">
      {mine
        ? <button class="solid" disabled={act.busy.value} onClick={() => void set(0)}>I can look again</button>
        : <button class="plain" disabled={act.busy.value} onClick={() => void set(10)}>I'm loading in the dark, 10 minutes</button>}
      <p class="tiny">{mine ? "Your phone stays dark. Urgent pages go to the next one at once." : "Your phone will not light up; urgent pages go to the next one at once."}</p>
      <Said of={act} />
    </div>
  );
}

function Warnings({ d }: { d: DutyNow }): JSX.Element | null {
  const list = d.warnings;
  if (list.length === 0) return null;
  return (
    <ul class="warnings" aria-label="What is wrong with the on-call plan">
      {list.map((w) => <li key={w}><Standing is="out" word={w} /></li>)}
    </ul>
  );
}

function StepsPart({ d }: { d: DutyNow }): JSX.Element {
  const p = d.plan;
  return (
    <Part title="Who is called" note="Low alerts call nobody: they show on the board.">
      <dl class="steps">
        <div><dt>Urgent</dt><dd>{stepsWords(p.urgent, p.repeat_urgent_s)}</dd></div>
        <div><dt>High</dt><dd>{stepsWords(p.high, p.repeat_high_s)}</dd></div>
        <div>
          <dt>Quiet hours</dt>
          <dd>{p.quiet.length === 0 ? "None: high alerts call at any hour." : `High alerts wait ${p.quiet.map((q) => `${daysWords(q.days)} ${hoursWords(q.from, q.to)}`).join("; ")}; urgent ones never do.`}</dd>
        </div>
        <div><dt>Every week</dt><dd>{p.weekly_test ? `Each contact method of each person is tested on ${daysWords([p.weekly_test.day])} at ${p.weekly_test.at}.` : "No test goes out by itself. Set one, so that a dead phone is found on a calm day."}</dd></div>
        <div><dt>Link in a page</dt><dd>{p.address ? `Opens ${p.address}, for ${p.link_hours} hours.` : "Set the board's address, or the link in a page will not open on a phone."}</dd></div>
      </dl>
    </Part>
  );
}

function PeoplePart({ d }: { d: DutyNow }): JSX.Element {
  const may = useMay();
  return (
    <Part title="People" note="How each can be reached now, the way that is tried first in front.">
      <ul class="lines">
        {d.people.map((p) => (
          <li key={p.name}>
            <Standing is={p.reachable ? "in" : "out"} word={p.name} />
            <span>{p.reachable ? p.ways.map(wayWord).join(", then ") : `cannot be reached: ${p.why || "no contact method is set"}`}</span>
            {p.on > 0 && <span class="muted">{p.on === 1 ? "first on call" : `on call, place ${p.on}`}</span>}
            {may.set && p.name !== may.me && <OthersContacts person={p.name} />}
          </li>
        ))}
      </ul>
    </Part>
  );
}

/** A lead enters mail or webhook for somebody else; a phone only its owner can enter, on it. */
function OthersContacts({ person }: { person: string }): JSX.Element {
  const open = useSignal(false);
  const path = `/people/${encodeURIComponent(person)}/contacts`;
  const { got, again } = useGet<Contacts>(open.value ? path : null, 60_000);
  const c = got.value.value;
  return (
    <>
      <button class="plain" aria-expanded={open.value} aria-label={`Contacts of ${person}`} onClick={() => (open.value = !open.value)}>Contacts</button>
      {open.value && (
        <div class="others">
          {!c && <Waiting got={got.value} again={again} what="The contacts" />}
          {c && <ContactsForm key={JSON.stringify([c.ways, c.mail, c.webhook])} c={c} path={path} again={again} />}
          {c && <TestOf person={person} ways={c.ways} />}
        </div>
      )}
    </>
  );
}

function TestOf({ person, ways }: { person: string; ways: readonly string[] }): JSX.Element {
  const t = usePageTest(person);
  return (
    <>
      <button class="plain" disabled={t.busy || ways.length === 0} onClick={() => void t.start()}>{t.busy ? "On its way…" : `Send ${person} a test page`}</button>
      <Said of={t.act} />
      <TestResults tests={t.tests} />
    </>
  );
}
