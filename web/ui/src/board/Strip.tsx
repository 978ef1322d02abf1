import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useMemo, useRef } from "preact/hooks";
import type { Heard } from "../state/live";
import { narrow } from "../state/prefs";
import { stepLeft } from "../words/doing";
import { segmentNames, stepWords } from "../words/steps";
import { along, layoutRun, minutes, nameSegments, type Layout } from "./segments";
import { Trace } from "./Trace";
import { useLaneClock } from "./sight";
import type { Form } from "./wall";

/** The letters of the names and the columns beside the strip, in the unit of the board, as lane.css has them. */
const NAMES: Record<Form, { size: number; beside: number }> = { tall: { size: 26, beside: 1090 }, full: { size: 23, beside: 1134 }, slim: { size: 0, beside: 0 } };
/** The board's width less the gaps and edges of a lane. */
const WIDTH = 1820;
const LETTER = 0.61;
const LETTER_NARROW = 0.0245;

/** How wide a letter of a step's name is, as part of the strip. */
const letter = (form: Form, scale: number): number => (NAMES[form].size * scale * LETTER) / (WIDTH - NAMES[form].beside * scale);

const part = (x: number): string => `${(x * 100).toFixed(2)}%`;

/**
 * The run as a strip of film: a frame for each step as long as it lasts, one
 * perforation a minute, the needle at now. Laid out anew when the unit says
 * something; only the needle moves in between.
 */
export function Strip({ heard, form, scale }: { heard: Heard; form: Form; scale: number }): JSX.Element {
  const { unit, heardAt } = heard;
  const last = useRef<{ run: string; layout: Layout } | null>(null);
  const run = unit.run;
  const em = narrow.value ? LETTER_NARROW : letter(form, scale);
  const layout = run && run.plan.length > 0 ? steady(last.current, run.id, layoutRun(run, heardAt, stepLeft(unit, heardAt, heardAt))) : null;
  const names = useMemo(() => (em === 0 || !layout ? [] : nameSegments(layout, em, (s) => segmentNames(s.step, s.label))), [layout, em]);
  if (!run || !layout) return <div class="strip none" />;
  last.current = { run: run.id, layout };
  const current = stepWords(run.step, run.plan?.find((p) => p.n === run.n)?.label).full;
  return (
    <div class="strip" role="img" aria-label={`Step ${run.n} of ${run.of}: ${current}`}>
      {em > 0 && (
        <div class="names" aria-hidden="true">
          {names.map((p) => (
            <span key={p.n} class={p.n === run.n ? "now" : ""} style={{ left: part(p.at) }}>{p.text}</span>
          ))}
        </div>
      )}
      <div class="film" aria-hidden="true">
        {layout.segments.map((s) => (
          <i
            key={s.n}
            class={`frame ${s.state}`}
            style={{ left: part(along(layout, s.from)), width: part((s.to - s.from) / (layout.to - layout.from)) }}
          />
        ))}
        <Filled layout={layout} now={run.n} />
        <Trace id={unit.id} layout={layout} />
        <Needle layout={layout} />
      </div>
      {form !== "slim" && <Perforations layout={layout} />}
    </div>
  );
}

/** A change of under so much is none: the strip does not tremble, and nothing is drawn anew for it. */
const STEADY_MS = 2000;

/** The layout that was drawn, while the new one is the same but for a moment. */
function steady(was: { run: string; layout: Layout } | null, run: string, now: Layout): Layout {
  if (was === null || was.run !== run || was.layout.from !== now.from || Math.abs(was.layout.to - now.to) > STEADY_MS) return now;
  const same =
    was.layout.segments.length === now.segments.length &&
    now.segments.every((s, i) => {
      const o = was.layout.segments[i];
      return o !== undefined && o.state === s.state && o.low === s.low && o.high === s.high && Math.abs(o.from - s.from) < STEADY_MS && Math.abs(o.to - s.to) < STEADY_MS;
    });
  return same ? was.layout : { ...now, to: Math.max(was.layout.to, now.segments.at(-1)?.to ?? 0) };
}

const fine = (x: number): string => `${(x * 100).toFixed(1)}%`;

/** What of the present step is past. Moves by a thousandth of the strip, not each second. */
function Filled({ layout, now }: { layout: Layout; now: number }): JSX.Element | null {
  const clock = useLaneClock();
  const s = layout.segments.find((x) => x.n === now && x.state === "now");
  const reach = useLatest(() => (s && clock.value > s.from ? fine(along(layout, Math.min(clock.value, s.to)) - along(layout, s.from)) : ""));
  if (!s || reach === "") return null;
  return <i class="filled" style={{ left: part(along(layout, s.from)), width: reach }} />;
}

function Needle({ layout }: { layout: Layout }): JSX.Element {
  const clock = useLaneClock();
  const left = useLatest(() => fine(along(layout, clock.value)));
  return <i class="needle" style={{ left }} />;
}

function Perforations({ layout }: { layout: Layout }): JSX.Element {
  const clock = useLaneClock();
  const gone = useLatest(() => Math.floor((clock.value - layout.from) / 60_000));
  return (
    <div class="perfs" aria-hidden="true">
      {minutes(layout).map((x, i) => (
        <i key={i} class={i < gone ? "gone" : ""} style={{ left: part(x) }} />
      ))}
    </div>
  );
}

/** A value that hangs on the clock: drawn again only when it changes, reckoned anew when the layout does. */
function useLatest<T>(f: () => T): T {
  const held = useRef(f);
  held.current = f;
  const c = useComputed(() => held.current());
  c.value; // be told
  return f();
}
