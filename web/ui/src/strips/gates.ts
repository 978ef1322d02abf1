import type { StripGate, Unit } from "../types";
import { processName } from "../words/steps";

const grave: Record<StripGate["gate"], number> = { in: 0, watch: 1, stop: 2 };

/** The gate of a unit that matters most: of the process it runs or is loaded for, else the gravest. */
export function gateOf(unit: Pick<Unit, "gates" | "run" | "load">): StripGate | null {
  const gates = unit.gates ?? [];
  const process = unit.run?.process ?? unit.load?.process;
  return gates.find((g) => g.process === process) ?? [...gates].sort((a, b) => grave[b.gate] - grave[a.gate])[0] ?? null;
}

/** On a tag: "strip STOP". */
export function gateTag(g: StripGate, several: boolean): string {
  const word = { in: "strip in", watch: "strip WATCH", stop: "strip STOP" }[g.gate];
  return several ? `${processName(g.process)} ${word}` : word;
}

/** On an idle lane: what it is and what to do, in one line. */
export function gateLine(g: StripGate): string {
  if (g.needs === "strip") return "Strip STOP until one is read today";
  if (g.needs === "second-strip") return "Strip WATCH: run a second strip now";
  if (g.gate === "stop") return "Strip STOP: no customers\u2019 film";
  return g.gate === "watch" ? "Strip WATCH: find the cause" : "";
}
