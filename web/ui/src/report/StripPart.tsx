import type { JSX } from "preact";
import { useStore } from "../context";
import { Standing } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { judgedBy, signed, stripWords } from "../strips/strips";
import type { StripRow } from "../strips/types";
import { moment, ms } from "../words/time";
import { Part } from "./Part";
import type { Report, StripList } from "../types";
import { stripsOf } from "./strip";

const BACK_MS = 31 * 24 * 3_600_000;

/** Control strips that bear on a run: the one that went through it, and the last one before it, each with what it was judged by. */
export function StripPart({ report }: { report: Report }): JSX.Element | null {
  const store = useStore();
  const { run } = report;
  const began = ms(run.started_at) ?? 0;
  const from = new Date(began - BACK_MS).toISOString();
  const { got } = useGet<StripList>(`/strips?${new URLSearchParams({ unit: run.unit, process: run.process, from })}`, 0);
  const { own, before } = stripsOf(got.value.value?.strips ?? [], run.id, began);
  if (!own && !before) return null;
  const now = store.now.peek();
  const one = (s: StripRow, what: string): JSX.Element => {
    const off = s.plots.filter((p) => p.standing === "out" || p.standing === "action");
    return (
      <li key={s.id}>
        <b>{what}</b> <Standing is={stripWords[s.standing][0]} word={stripWords[s.standing][1]} />
        <span class="what">{off.map((p) => `${p.label} ${p.deviation === null ? "" : signed(p.deviation)}`).join(", ")} <span class="muted">read {moment(ms(s.read_at) ?? now, now)}{s.code && `, code ${s.code}`}{s.mix && `, mix ${s.mix}`}; judged by {judgedBy(s.plots)}</span></span>
      </li>
    );
  };
  return (
    <Part title="Control strips">
      <ul class="lines wide">
        {own && one(own, "Through this run:")}
        {before && one(before, "Last one before it:")}
      </ul>
      <p class="screen"><a href={`#/strips/${run.unit}/${run.process}`}>The chart of its strips</a></p>
    </Part>
  );
}
