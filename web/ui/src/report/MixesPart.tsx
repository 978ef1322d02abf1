import type { JSX } from "preact";
import { useGet } from "../shared/useGet";
import type { MixList, Report } from "../types";
import { stepWords } from "../words/steps";
import { Part } from "./Part";

/** Which mix each bath was, as the record has it; what was withdrawn since says so. */
export function MixesPart({ report }: { report: Report }): JSX.Element | null {
  const mixes = report.mixes ?? [];
  const { got } = useGet<MixList>(mixes.some((m) => m.mix) ? "/mixes" : null, 0);
  if (mixes.length === 0) return null;
  const withdrawn = (id: string): string => got.value.value?.mixes.find((m) => m.id === id)?.withdrawn ?? "";
  return (
    <Part title="Mixes">
      <ul class="rolllist">
        {mixes.map((m, i) => (
          <li key={i}>
            <b>{stepWords(m.step).full}</b>
            <span class="of">
              <span>{m.mix ? <a href={`#/mixes/${m.mix}`}>{m.text}</a> : "not known which mix"}</span>
              {m.mix && !m.sure && <span class="muted">Not sure: the step was not received, or the bottle was changed while it went on.</span>}
              {withdrawn(m.mix) && <span class="odd"><span aria-hidden="true">▲</span> Withdrawn since: {withdrawn(m.mix)}</span>}
            </span>
          </li>
        ))}
      </ul>
    </Part>
  );
}
