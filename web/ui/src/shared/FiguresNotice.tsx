import type { JSX } from "preact";
import { processName, stepWords } from "../words/steps";
import { Said } from "./parts";
import { useGet } from "./useGet";
import { useMay, useSend } from "./useSend";
import { said } from "../state/said";
import type { FigureNotice } from "../types";

const HOUR_MS = 3_600_000;

/** What changed in the program's own figures, until a lead says that it was read. */
export function FiguresNotice(): JSX.Element | null {
  const { got, again } = useGet<FigureNotice>("/figure-changes", HOUR_MS);
  const may = useMay();
  const act = useSend();
  const n = got.value.value;
  const list = n?.changes ?? [];
  if (!n || list.length === 0) return null;
  const read = async (): Promise<void> => {
    if (await act.send("POST", "/figure-changes/seen", { lot: n.lot })) await again();
  };
  return (
    <section class="figuresnotice" aria-label="Figures that changed">
      <h2>Figures that changed in this version</h2>
      <p>Your own figures stand, whatever changed beneath them. {may.set ? "Press “Read” once you have read it: it is not shown again." : "A lead presses it away once it was read."}</p>
      <ul>
        {list.map((c, i) => (
          <li key={i}>
            {c.step && <b>{processName(c.process)} {stepWords(c.step, c.label).full.toLowerCase()}, {c.figure}: </b>}
            {said(c.text)}
            {c.own && <span class="own"> Your own figure stands.</span>}
          </li>
        ))}
      </ul>
      <p class="doors"><a class="button" href="#/settings/sheets">Process sheets</a>{may.set && <button class="solid" disabled={act.busy.value} onClick={() => void read()}>Read</button>}</p>
      <Said of={act} />
    </section>
  );
}

/** On the way to the start of the day: that a lead has figures to read about. */
export function FiguresMark(): JSX.Element | null {
  const may = useMay();
  const { got } = useGet<FigureNotice>(may.set ? "/figure-changes" : null, HOUR_MS);
  return (got.value.value?.changes ?? []).length > 0 ? <span class="figuresmark">{"\u00a0(figures changed)"}</span> : null;
}
