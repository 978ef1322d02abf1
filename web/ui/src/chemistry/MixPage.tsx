import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { runLink } from "../route";
import { said } from "../state/said";
import { volumes } from "../state/prefs";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { MixRolls, MixView } from "../types";
import { litres } from "../words/measure";
import { stepWords } from "../words/steps";
import { moment, ms } from "../words/time";
import { ageWords, limitWords, milliliters, standOf, useWords } from "./words";
import "./chemistry.css";

/** One mix: what it is, where it stands, and every roll that met it. */
export function MixPage({ label }: { label: string }): JSX.Element {
  const path = `/mixes/${encodeURIComponent(label)}`;
  const { got, again } = useGet<MixView>(path);
  const m = got.value.value;
  return (
    <section class="list paper mixes">
      <h1 class="num">{label.toUpperCase()}</h1>
      <p class="doors noprint"><a class="button" href="#/mixes">All mixes</a></p>
      {got.value.status === 404 ? <p class="empty">There is no mix with this label. Labels begin with MIX- and stand on the bottle.</p> : <Waiting got={got.value} again={again} what="The mix" />}
      {m && <Known m={m} again={again} path={path} />}
      {m && <Met path={path} m={m} />}
      {m && <History m={m} />}
    </section>
  );
}

function Known({ m, again, path }: { m: MixView; again(): Promise<void>; path: string }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const why = useSignal("");
  const [is, word] = standOf(m);
  const now = store.now.peek();
  const mark = async (what: "withdraw" | "restore" | "finish", done: string): Promise<void> => {
    if (await act.send("POST", `${path}/${what}`, { reason: why.value.trim() }, done)) {
      why.value = "";
      await again();
    }
  };
  return (
    <>
      <Part title={m.solution_name}>
        <p class="gate"><Standing is={is} word={word} /></p>
        {m.state.why.map((w) => <p key={w}><b>{said(w)}</b></p>)}
        <ul class="lines facts">
          <li><b>Mixed</b> {moment(ms(m.mixed_at) ?? now, now)} by {m.mixed_by}, {ageWords(m.state.age_days)}</li>
          <li><b>Volume</b> {litres(m.volume_l, volumes.value)}</li>
          <li><b>Maker&rsquo;s lot</b> {m.lot || "not noted"}</li>
          {(m.parts ?? []).length > 0 && <li><b>Parts</b> {(m.parts ?? []).map((p) => `${p.part} ${milliliters(p.ml)}${p.lot ? ` (lot ${p.lot})` : ""}`).join(", ")}</li>}
          <li><b>Film through it</b> {useWords(m.use)}</li>
          <li><b>Limit</b> {limitWords(m.limit) ? `${limitWords(m.limit)} (${m.limit_standing})` : "none set"}</li>
          <li><b>Stands at</b> {m.at.length === 0 ? "no unit" : m.at.map((p) => `${store.nameOf(p.unit)}, ${p.position}, since ${moment(ms(p.since) ?? now, now)}`).join("; ")}</li>
          <li><b>Control strip</b> {m.strip ? `read ${moment(ms(m.strip.read_at) ?? now, now)}: ${m.strip.standing}` : "none was read of it"}</li>
          {m.note && <li><b>Note</b> {m.note}</li>}
        </ul>
      </Part>
      {may.enter && (
        <Part title="Mark it" note="A withdrawn mix stops the next load of each unit that it stands on. Its rolls are listed below." class="noprint">
          <form class="fields" onSubmit={(e) => e.preventDefault()}>
            <label class="grow">Why<input value={why.value} maxLength={1000} onInput={(e) => (why.value = e.currentTarget.value)} placeholder="smells of ammonia; strip out; used up" /></label>
            {!m.withdrawn && <button class="solid" disabled={act.busy.value || why.value.trim() === ""} onClick={() => void mark("withdraw", "Withdrawn.")}>Withdraw it</button>}
            {!m.done && !m.withdrawn && <button class="plain" disabled={act.busy.value || why.value.trim() === ""} onClick={() => void mark("finish", "Marked used up.")}>Used up or discarded</button>}
            {may.set && (m.withdrawn || m.done) && <button class="plain" disabled={act.busy.value || why.value.trim() === ""} onClick={() => void mark("restore", "It may be used again.")}>It may be used after all</button>}
          </form>
          <Said of={act} />
          <p class="caution">Discard into the waste stream that it belongs to. Never mix waste streams. Local rules decide what may go down a drain; ask your sewer authority.</p>
        </Part>
      )}
    </>
  );
}

function Met({ path, m }: { path: string; m: MixView }): JSX.Element {
  const store = useStore();
  const { got, again } = useGet<MixRolls>(`${path}/rolls`, 60_000);
  const met = got.value.value;
  const now = store.now.peek();
  return (
    <Part title="Rolls that met it" note={met && <>{met.rolls === 1 ? "1 roll" : `${met.rolls} rolls`} in {met.runs.length === 1 ? "1 run" : `${met.runs.length} runs`}. Worked out anew from the stored runs each time.</>}>
      <Waiting got={got.value} again={again} what="The rolls" />
      {met && met.runs.length === 0 && <p>No run used it{m.at.length === 0 ? ": it stood at no unit, as far as bottles were scanned" : " yet"}.</p>}
      {met && met.unscanned > 0 && <p><b>{met.unscanned === 1 ? "1 run" : `${met.unscanned} runs`} with film had no roll scanned:</b> whose film met the mix there is not known.</p>}
      {met && met.orders.length > 0 && (
        <table class="wide">
          <thead><tr><th>Order</th><th class="words">Due</th><th class="words">Rolls</th></tr></thead>
          <tbody>
            {met.orders.map((o) => (
              <tr key={o.order}>
                <th scope="row">{o.order || "no order given"}</th>
                <td class="words">{o.due_at ? moment(ms(o.due_at) ?? now, now) : "not known"}</td>
                <td class="words num">{o.rolls.join(", ")}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {met && met.runs.length > 0 && (
        <details open={met.runs.length <= 12}>
          <summary>The runs</summary>
          <ul class="lines">
            {met.runs.map((r) => (
              <li key={r.id}>
                <a href={runLink(r.id)}>{store.nameOf(r.unit)}, run {r.run}</a>
                <span class="what">{moment(ms(r.started_at) ?? now, now)}: {r.steps.map((s) => stepWords(s).full.toLowerCase()).join(", ")}{r.kind !== "film" && `, ${r.kind}`}{!r.sure && <b> may have used it</b>}</span>
                <span class="num">{r.rolls.length === 0 ? (r.kind === "film" ? "rolls unknown" : "") : r.rolls.map((x) => x.twin_check).join(", ")}</span>
              </li>
            ))}
          </ul>
        </details>
      )}
      {met && met.runs.length > 0 && <p class="doors noprint"><a class="button" href={`/api/v1${path}/rolls.csv`} download>As a table (CSV)</a><button class="plain" onClick={() => print()}>Print</button></p>}
    </Part>
  );
}

function History({ m }: { m: MixView }): JSX.Element | null {
  const store = useStore();
  const now = store.now.peek();
  if (m.history.length < 2) return null;
  return (
    <Part title="What was written" note="Every version stays.">
      <ul class="lines record">
        {m.history.map((v) => (
          <li key={v.version}>
            <time>{moment(ms(v.entered) ?? now, now)}</time>
            <span>{v.by}: {v.version === 1 ? "written" : v.why}{v.version > 1 && <span class="muted"> (lot {v.lot || "not noted"}, {litres(v.volume_l, volumes.value)}{v.withdrawn && ", withdrawn"}{v.done && ", used up"})</span>}</span>
          </li>
        ))}
      </ul>
    </Part>
  );
}
