import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { alertLink } from "../route";
import type { Alert, AlertDetail, AlertHistory, AlertPages, PageView } from "../types";
import { asides, eventWord, wayWord } from "../words/alert";
import { nextPageWords } from "../words/duty";
import { hourMinuteSecond, ms } from "../words/time";
import { heading, toDo } from "../words/todo";
import { said } from "../state/said";

const clock = (at: string | null): string => {
  const t = ms(at);
  return t === null ? "" : hourMinuteSecond(t);
};

/** All that an alert says, where its line or its bar had no room for it. */
export function AlertWhole({ alert: a, over = false }: { alert: Alert; over?: boolean }): JSX.Element {
  const now = useStore().present(a.unit);
  return (
    <div class="alertwhole">
      <p>{said(heading(a, now))}</p>
      <p>{over ? "What was to be done: " : "What to do: "}{said(over ? a.response : toDo(a, now))}</p>
      {a.consequence && <p>{over ? "What it could do: " : "If nothing is done: "}{said(a.consequence)}</p>}
      {asides(a).length > 0 && <p>{asides(a).join(" ")}</p>}
    </div>
  );
}

/** What happened to an alert so far, and whom it was sent to. */
export function AlertPast({ alert: a }: { alert: Alert }): JSX.Element {
  const store = useStore();
  const history = useSignal<AlertHistory[] | null>(null);
  const pages = useSignal<AlertPages | null>(null);
  const trouble = useSignal("");
  useEffect(() => {
    let here = true;
    const id = encodeURIComponent(a.id);
    const load = async (): Promise<void> => {
      try {
        const detail = await store.source.get<AlertDetail>(`/alerts/${id}`);
        if (here) history.value = detail.history;
        const sent = await store.source.get<AlertPages>(`/alerts/${id}/pages`);
        if (here) pages.value = sent;
      } catch (e) {
        if (here) trouble.value = e instanceof Error ? e.message : String(e);
      }
    };
    void load();
    return () => void (here = false);
  }, [a.id, a.state, a.occurrence, a.shelved_until]);
  return (
    <div class="alertpast">
      <section aria-label="What happened to this alert">
        <h3>What happened</h3>
        {history.value === null && !trouble.value && <p role="status">One moment…</p>}
        <ol>
          {(history.value ?? []).map((e, i) => (
            <li key={i}>
              <time class="num">{clock(e.at)}</time> {eventWord(e.what)}
              {e.by && ` by ${e.by}`}
              {e.note && `: ${e.note}`}
            </li>
          ))}
        </ol>
      </section>
      <p><a href={alertLink(a.id)}>All of this alert</a></p>
      {pages.value && <Pages p={pages.value} low={a.priority === "low"} />}
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
    </div>
  );
}

function Pages({ p, low }: { p: AlertPages; low: boolean }): JSX.Element {
  const list = p.pages;
  const none = low ? "A low alert pages nobody; it shows here." : "Nobody has been paged for this.";
  return (
    <section aria-label="Pages sent about this alert">
      <h3>Pages</h3>
      {list.length === 0 && <p>{none}</p>}
      <ol>{list.map((x) => <Page key={x.id} p={x} />)}</ol>
      {p.answered_by && <p>Acknowledged by {p.answered_by}{p.answered_at && ` at ${clock(p.answered_at)}`}.</p>}
      {p.next && <p class="num">{nextPageWords(p.next.people, clock(p.next.at))}</p>}
    </section>
  );
}

function Page({ p }: { p: PageView }): JSX.Element {
  const failed = p.tries.filter((t) => t.outcome === "failed" || t.outcome === "gone");
  const last = failed.at(-1);
  return (
    <li class={p.state}>
      <time class="num">{clock(p.made_at)}</time> {p.person}: {pageWords(p)}
      {p.opened_at && `, opened at ${clock(p.opened_at)}`}
      {last && p.state !== "sent" && <span class="trouble"> · {wayWord(last.way)} failed{failed.length > 1 ? ` ${failed.length} times` : ""}: {last.detail}</span>}
    </li>
  );
}

export function pageWords(p: PageView): string {
  switch (p.state) {
    case "sent":
      return `sent by ${wayWord(p.sent_by)}${p.sent_at ? ` at ${clock(p.sent_at)}` : ""}`;
    case "held":
      return `waits until ${clock(p.held_until) || "they can look"}: works in the dark`;
    case "waiting":
      return "not sent yet";
    case "dropped":
      return `not needed any more${p.why ? `: ${p.why}` : ""}`;
  }
}
