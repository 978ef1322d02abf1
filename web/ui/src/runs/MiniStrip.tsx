import type { JSX } from "preact";
import { useStore } from "../context";
import type { Run, RunStep } from "../types";

/** A step as a frame of the small strip: how long, and whether it is one to look at. */
export interface Frame {
  n: number;
  part: number;
  flag: "" | "warm" | "cool" | "off" | "skipped";
}

/** The steps of a run as parts of its length; those that a reason names are flagged. */
export function frames(run: Pick<Run, "steps" | "reasons">): Frame[] {
  const steps = run.steps;
  const length = (s: RunStep): number => Math.max(s.time_s ?? s.set_s ?? s.sheet_s ?? 0, 0);
  const total = steps.reduce((sum, s) => sum + length(s), 0);
  if (total <= 0) return [];
  return steps.map((s) => {
    const codes = run.reasons.filter((r) => r.step === s.step).map((r) => r.code);
    const flag = codes.includes("step-skipped") ? "skipped"
      : codes.includes("bath-warm") ? "warm" : codes.includes("bath-cool") ? "cool" : codes.length > 0 ? "off" : "";
    return { n: s.n, part: Math.max(0.012, length(s) / total), flag };
  });
}

/** The run at the size of a contact print: nothing to read, much to recognise. */
export function MiniStrip({ run }: { run: Run }): JSX.Element {
  return (
    <span class="ministrip" aria-hidden="true">
      {frames(run).map((f) => <i key={f.n} class={f.flag} style={{ flexGrow: f.part }} />)}
    </span>
  );
}

/** The strip of a run that goes on, from the live unit's plan. */
export function LiveStrip({ unit, run }: { unit: string; run: string }): JSX.Element {
  const live = useStore().unit(unit)?.value.unit.run;
  const plan = live?.id === run ? live.plan : [];
  return (
    <span class="ministrip" aria-hidden="true">
      {plan.map((p) => <i key={p.n} class={p.state} style={{ flexGrow: Math.max(10, p.aim_s) }} />)}
    </span>
  );
}
