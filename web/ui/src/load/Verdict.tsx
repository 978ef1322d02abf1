import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { wantWords } from "./rolls";
import { PlanList } from "./PlanList";
import { containerName } from "../words/container";
import type { LoadAnswer, LoadReason, PlanContainer } from "./types";
import { said } from "../state/said";

interface Props {
  answer: LoadAnswer;
  undo(): void;
  change(): void;
  next(): void;
  /** Answers a question about a roll; the load is checked again with it. */
  answerTo(r: LoadReason, answer: string): void;
  busy: boolean;
  trouble: string;
}

/** One word that fills the view: GO or STOP. What is wrong stands under it, the odd roll by name. */
export function Verdict({ answer: a, undo, change, next, answerTo, busy, trouble }: Props): JSX.Element {
  const store = useStore();
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => head.current?.focus(), [a]);
  const stop = a.verdict === "stop";
  const reasons = a.reasons;
  const rolls = (a.load?.rolls ?? []).length;
  const unknown = notKnown(a.plan?.containers);
  const odd = new Set(reasons.flatMap((r) => (r.roll && r.stops !== false ? [r.roll] : [])));
  return (
    <section class={`gostop ${a.verdict}`} aria-label={stop ? "Stop" : "Go"}>
      <h1 ref={head} tabIndex={-1}>
        <span class="gs" aria-hidden="true">{stop ? <StopShape /> : <GoShape />}</span>
        <span class="gsword">{stop ? "STOP" : "GO"}</span>
      </h1>
      <p class="gssub">
        <b>{store.nameOf(a.unit)}</b>{a.load && `, ${wantWords(a.load)}, ${rolls === 1 ? "1 roll" : `${rolls} rolls`}`}
      </p>
      {odd.size > 0 && <p class="gsodd num">{[...odd].map((r) => <b key={r}>{r}</b>)}</p>}
      {!stop && unknown && <p class="gsunknown"><b>Not known: {unknown}.</b> Look before you press start.</p>}
      <ul class="gsreasons">
        {reasons.map((r, i) => (
          <li key={i} class={r.stops === false ? "tells" : ""}>
            {r.stops === false && <span>Also: </span>}{said(r.text)}
            {(r.ask ?? []).length > 0 && (
              <span class="gsask">
                {(r.ask ?? []).map((c) => <button key={c.answer} class="plain" disabled={busy} onClick={() => answerTo(r, c.answer)}>{c.text}</button>)}
              </span>
            )}
          </li>
        ))}
        {!stop && !unknown && reasons.length === 0 && <li>Water, waste and chemistry are enough for this run. Check reels and bottles, then press start at the unit.</li>}
      </ul>
      <div class="gsacts">
        {stop
          ? <button class="solid" onClick={change}>Change the rolls</button>
          : <button class="solid" onClick={next}>Next unit</button>}
        {!stop && <button class="plain" onClick={change}>Change the rolls</button>}
        <button class="plain" onClick={undo}>Undo: nothing is loaded</button>
        {stop && <button class="plain" onClick={next}>Another unit</button>}
      </div>
      {trouble && <p class="trouble" role="alert">{trouble}</p>}
      {a.plan && <PlanList plan={a.plan} />}
      <p class="gsnote">Wetside advises; it starts and stops nothing. The unit decides what it does, and you what goes into it.</p>
    </section>
  );
}

/** The containers of which it is not known whether they are enough for this run; "" for none. */
export function notKnown(list: readonly PlanContainer[]): string {
  return list.filter((c) => c.standing === "unknown").map((c) => containerName(c).toLowerCase()).join(", ");
}

const GoShape = (): JSX.Element => <svg viewBox="0 0 24 24"><circle cx="12" cy="12" r="9" class="line" /></svg>;
const StopShape = (): JSX.Element => <svg viewBox="0 0 24 24"><path d="M12 2 23 21.500H1Z" class="solid" /></svg>;
