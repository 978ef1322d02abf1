import type { Unit } from "../types";

/** May the film stay where it is for a while? Never in a developer; in fixer and in what comes after it, yes. */
export type Waits = "never" | "yes" | "unknown";

const fixes = new Set(["fixer", "bleach-fix"]);

/** Answers "can it wait here?" from where the film stands and what it has been through. */
export function canWait(unit: Unit): Waits {
  const run = unit.run;
  if (!run || unit.light.state === "none" || run.phase === "drying" || run.phase === "done") return "unknown";
  const plan = run.plan;
  const here = plan.find((p) => p.n === run.n);
  if (here?.kind === "dev" && run.phase !== "heating") return "never";
  const fixed = plan.some((p) => p.n <= run.n && p.state !== "skipped" && p.state !== "ahead" && fixes.has(p.step));
  if (!fixed || unit.light.state !== "safe") return "unknown";
  return "yes";
}

export const waitsWords: Record<Waits, string> = { never: "can't wait here", yes: "can wait here", unknown: "" };
