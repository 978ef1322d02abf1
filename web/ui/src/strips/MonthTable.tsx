import type { JSX } from "preact";
import { dayOf } from "../words/day";
import { hourMinute, ms } from "../words/time";
import { signed, stripWords } from "./strips";
import type { Chart } from "./types";

/** The month in figures, on paper only: a row a strip, its deviations, who read it. */
export function MonthTable({ chart }: { chart: Chart }): JSX.Element {
  const plots = chart.plots;
  const rows = [...chart.strips].reverse();
  return (
    <table class="monthtable onpaper">
      <thead>
        <tr>
          <th scope="col" class="words">Read</th>
          {plots.map((p) => <th key={p.plot} scope="col">{p.label.replace("Retained silver (D-max blue less yellow blue)", "Silver").replace("HD-LD color spread", "Spread").replace(/ (r)ed$| (g)reen$| (b)lue$/, (_, r, g, b) => ` ${(r ?? g ?? b).toUpperCase()}`)}</th>)}
          <th scope="col" class="words">Stands</th><th scope="col" class="words">Mix, code, by</th>
        </tr>
      </thead>
      <tbody>
        {rows.map((s) => {
          const at = ms(s.read_at) ?? 0;
          return (
            <tr key={s.id}>
              <th scope="row" class="words">{dayOf(at).slice(5)} {hourMinute(at)}</th>
              {plots.map((p) => {
                const f = s.plots.find((x) => x.plot === p.plot);
                const off = f?.standing === "out" || f?.standing === "action";
                return <td key={p.plot}>{f?.deviation == null ? "" : off ? <b>{signed(f.deviation)}</b> : signed(f.deviation)}</td>;
              })}
              <td class="words">{stripWords[s.standing][1]}</td>
              <td class="words">{[s.mix, s.code, s.by].filter(Boolean).join(", ")}</td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}
