import type { JSX } from "preact";
import { useStore } from "../context";
import { useNextLoads } from "../board/nextload";
import type { Proposal, ProposedRun } from "../types";
import { MINUTE } from "../words/time";
import { figuresWords, gainWords, promiseWords, provenWords, proposedHere, rollsWords, setTo, startWords } from "../words/nextloads";
import { hourMinute, ms } from "../words/time";
import "./nextloads.css";

/** The proposal, asked for once a minute; silent where no roll waits. */
function useProposal(): Proposal | null {
  const p = useNextLoads(MINUTE).value;
  return p && p.waiting > 0 ? p : null;
}

/** What to load next: every run of the proposal, what it gains, and what is not in it and why. */
export function NextLoads(): JSX.Element | null {
  const p = useProposal();
  const store = useStore();
  if (!p) return null;
  const now = store.now.value;
  const open = p.left.length + p.units.length + p.rests_on.length;
  return (
    <section class="nextloads" aria-label="What to load next">
      <h2>What to load next</h2>
      {p.runs.length > 0 ? (
        <>
          <p class="muted">A proposal from the rolls that wait. Nothing starts by itself: the check at loading has the last word.</p>
          <ol>{p.runs.map((r) => <OneRun key={`${r.unit} ${r.start_at}`} r={r} now={now} />)}</ol>
          <p>{figuresWords(p.figures, now)} {gainWords(p)} <span class="muted">{provenWords(p)}</span></p>
        </>
      ) : <p>{p.waiting === 1 ? "1 roll waits" : `${p.waiting} rolls wait`}; none can be planned yet.</p>}
      {open > 0 && (
        <details open={p.runs.length === 0}>
          <summary>Not in it, and what is not known</summary>
          <ul>
            {p.left.map((l) => <li key={l.why + l.text}>{l.text} <span class="num">{l.rolls.length > 8 ? `${l.rolls.length} rolls` : l.rolls.join(", ")}</span></li>)}
            {p.units.map((u) => <li key={u.unit + (u.process ?? "") + u.text}><b>{store.nameOf(u.unit)}</b> {u.text}</li>)}
            {p.rests_on.map((r) => <li key={(r.unit ?? "") + r.text}>{r.text}</li>)}
          </ul>
        </details>
      )}
    </section>
  );
}

function OneRun({ r, now }: { r: ProposedRun; now: number }): JSX.Element {
  const promise = promiseWords(r, now);
  return (
    <li>
      <span class="when num">{startWords(r, now)}</span>
      <span class="what">
        <a href={`#/load/${r.unit}`}><b>{r.name}</b></a> {setTo(r)}
        {r.flush_first && <span class="flag"> Flush it first.</span>}
        {r.push === null && <span class="flag"> Look at the cards.</span>}
      </span>
      <span class="rolls num"><b>{rollsWords(r)}</b> <span class="muted">{r.rolls.map((x) => x.twin_check).join(", ")}</span></span>
      <span class="muted num">to the dryer {hourMinute(ms(r.to_dryer_at) ?? now)}, ready {hourMinute(ms(r.ready_at) ?? now)}{promise.text && !promise.late && `, ${promise.text}`}</span>
      {promise.late && <span class="late">▲ {promise.text}</span>}
    </li>
  );
}

/** On the loading page of a unit: what is proposed for it. */
export function ProposedHere({ unit }: { unit: string }): JSX.Element | null {
  const p = useProposal();
  const store = useStore();
  const r = p?.runs.find((x) => x.unit === unit);
  if (!r) return null;
  return (
    <p class="proposedhere">
      <b>Proposed here:</b> {proposedHere(r, store.now.value)}. <span class="num">{r.rolls.map((x) => x.twin_check).join(", ")}</span>
      {r.flush_first && " Flush it first."}{r.push === null && " Nobody said their push: look at the cards."}
    </p>
  );
}
