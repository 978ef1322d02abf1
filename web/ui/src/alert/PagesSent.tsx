import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useStore } from "../context";
import { pageWords } from "../board/AlertPast";
import { Part, Standing, Waiting, type Stand } from "../shared/parts";
import { useGet } from "../shared/useGet";
import type { Alert, AlertPages, PageView } from "../types";
import { wayWord } from "../words/alert";
import { hourMinuteSecond, moment, ms } from "../words/time";
import { nextPageWords, tryWords } from "../words/duty";

const clock = (at: string | null): string => (ms(at) === null ? "" : hourMinuteSecond(ms(at) ?? 0));

/** Whom an alert called, by which way, and each try. `stamp` changes when the alert does. */
export function PagesSent({ alert: a, stamp }: { alert: Alert; stamp: string }): JSX.Element {
  const now = useStore().now.value;
  const { got, again } = useGet<AlertPages>(`/alerts/${encodeURIComponent(a.id)}/pages`, 10_000);
  useEffect(() => void again(), [stamp]);
  const p = got.value.value;
  return (
    <Part title="Whom it called" note={a.priority === "low" ? "A low alert pages nobody; it shows on the board." : "Opening a page acknowledges nothing; pressing does."}>
      <Waiting got={got.value} again={again} what="The pages" />
      {p && p.pages.length === 0 && <p>Nobody has been paged for this.</p>}
      {p && (
        <ol class="lines calls">
          {p.pages.map((x) => (
            <li key={x.id}>
              <time class="num">{moment(ms(x.made_at) ?? now, now)}</time>
              <Standing is={standOf(x)} word={x.person} />
              <span>{pageWords(x)}{x.opened_at && `, opened at ${clock(x.opened_at)}`}</span>
              {x.tries.length > 0 && (
                <ol class="tries">
                  {x.tries.map((t, i) => <li key={i}><span class="num">{clock(t.at)}</span> {wayWord(t.way)}: {tryWords(t)}</li>)}
                </ol>
              )}
            </li>
          ))}
        </ol>
      )}
      {p?.answered_by && <p>Acknowledged by <b>{p.answered_by}</b>{p.answered_at && ` at ${clock(p.answered_at)}`}.</p>}
      {p?.next?.at && <p class="num">{nextPageWords(p.next.people, clock(p.next.at))}</p>}
    </Part>
  );
}

function standOf(x: PageView): Stand {
  if (x.state === "sent") return "in";
  if (x.state === "dropped") return "off";
  return x.tries.some((t) => t.outcome === "failed" || t.outcome === "gone") ? "out" : "soon";
}
