import type { Degrees, Volumes } from "../words/measure";
import { temperature } from "../words/measure";
import { hourMinute, MINUTE, moment, ms } from "../words/time";
import { standingOf, standingWords } from "../words/verdict";
import type { Run, TracePoint, Unit } from "../types";
import { containerName, lastsWords, takesIn } from "../words/container";
import { litres, runsLeftOf } from "../words/measure";
import { processName } from "../words/steps";
import type { LoadPlan } from "./types";

/** One line of the start of the day. */
export interface StartLine {
  what: string;
  standing: "fine" | "todo" | "unknown";
  words: string;
}

/** What is known of a unit this morning. */
export interface Morning {
  unit: Unit;
  plan: LoadPlan | null;
  trace: readonly TracePoint[];
  /** Runs of today, any kind. */
  runs: readonly Run[];
  now: number;
  degrees: Degrees;
  volumes: Volumes;
}

const NEAR_C = 0.5;
const LOOK_BACK_MS = 12 * MINUTE;
const OLD_MS = 5 * MINUTE;
const BATTERY_ENOUGH = 80;

type Field = "preheat_c" | "dryer_c";

function readings(trace: readonly TracePoint[], field: Field, now: number): { t: number; c: number }[] {
  return trace.flatMap((p) => {
    const t = ms(p.at);
    const c = p[field];
    return t !== null && typeof c === "number" && t >= now - LOOK_BACK_MS ? [{ t, c }] : [];
  });
}

/** When a heater that rises as it did in the last minutes will be near its aim; null: it does not rise. */
export function heatedBy(points: readonly { t: number; c: number }[], aim: number, now: number): number | null {
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last || last.t - first.t < 2 * MINUTE) return null;
  const perMs = (last.c - first.c) / (last.t - first.t);
  if (perMs * MINUTE < 0.05) return null;
  return Math.max(now, last.t + (aim - NEAR_C - last.c) / perMs);
}

function heater(m: Morning): StartLine {
  if (m.unit.run) return { what: "Heated", standing: "fine", words: "a run goes on" };
  const aim = m.plan?.heater?.aim_c ?? null;
  const list = readings(m.trace, "preheat_c", m.now);
  const last = list.at(-1);
  const c = m.plan?.heater?.c ?? last?.c ?? null;
  const line = (standing: StartLine["standing"], words: string): StartLine => ({ what: "Heated", standing, words });
  if (c === null || (last && m.now - last.t > OLD_MS)) return line("unknown", "no temperature received lately: look at the unit");
  const is = temperature(c, m.degrees);
  if (aim === null) return line("unknown", `${is}; which process comes first is not known`);
  if (c >= aim - NEAR_C) return line("fine", `warm, ${is}`);
  const by = heatedBy(list, aim, m.now);
  if (by === null) return line("todo", `${is} of ${temperature(aim, m.degrees)} and not rising: is the heater on?`);
  return line("todo", `${is} of ${temperature(aim, m.degrees)}, there at about ${hourMinute(by)} at this rate`);
}

function containers(m: Morning): StartLine[] {
  const list = m.unit.containers.filter((c) => c.role !== "bottle" || (c.runs_left !== null && c.runs_left < 2));
  return list.map((c): StartLine => {
    const what = c.role === "wash" ? "Water" : containerName(c);
    if (c.litres === null) return { what, standing: "unknown", words: "no level received: look, then set it" };
    const left = c.runs_left;
    const level = takesIn(c.role) ? `room for ${litres(Math.max(0, c.capacity_l - c.litres), m.volumes)}` : litres(c.litres, m.volumes);
    const runs = left === null ? (c.next_run_l === 0 ? "" : ", for how many runs is not known") : `, ${left === 0 ? "not enough for a run" : `enough for ${runsLeftOf(c)}${c.lasts_from ? `, ${lastsWords(c, m.now)}` : ""}`}`;
    if (c.float_closed || left === 0) return { what, standing: "todo", words: `${level}${runs}: ${takesIn(c.role) ? "empty or swap it" : "fill or swap it"}` };
    return { what, standing: left === null && c.next_run_l !== 0 ? "unknown" : "fine", words: level + runs };
  });
}

function dryer(m: Morning): StartLine {
  const last = readings(m.trace, "dryer_c", m.now).at(-1);
  if (!last) return { what: "Dryer", standing: "unknown", words: "no data received lately: look" };
  return { what: "Dryer", standing: "fine", words: `heard, ${temperature(last.c, m.degrees)}` };
}

function strips(m: Morning): StartLine[] {
  const gates = m.unit.gates ?? [];
  const lines = gates.map((g): StartLine => ({
    what: gates.length > 1 ? `Strip ${processName(g.process)}` : "Strip", standing: g.gate === "in" ? "fine" : "todo",
    words: g.gate === "in" ? `in, ${g.last_in_at === null ? "" : `read ${moment(ms(g.last_in_at) ?? 0, m.now)}`}` : `${g.gate === "stop" ? "STOP" : "WATCH"}. ${g.text ?? ""}`,
  }));
  if (lines.length > 0) return lines;
  const run = m.runs.filter((r) => r.unit === m.unit.id && r.kind === "strip").sort((a, b) => b.started_at.localeCompare(a.started_at))[0];
  if (!run) return [{ what: "Strip", standing: "unknown", words: "no control strip ran today" }];
  const at = moment(ms(run.started_at) ?? 0, m.now);
  const standing = standingOf(run);
  if (standing === "running") return [{ what: "Strip", standing: "todo", words: `in the bath since ${at}` }];
  return [{ what: "Strip", standing: standing === "in-control" ? "fine" : "todo", words: `ran at ${at}, ${standingWords[standing]}; read it before film goes in` }];
}

function battery(m: Morning): StartLine {
  const { source, battery_pct: pct } = m.unit.power;
  if (source === "battery") return { what: "Battery", standing: "todo", words: `the unit runs on it${pct === null ? "" : `, ${Math.round(pct)} %`}: mains power lost` };
  if (pct === null) return { what: "Battery", standing: "unknown", words: "no data received of its charge" };
  return { what: "Battery", standing: pct >= BATTERY_ENOUGH ? "fine" : "todo", words: `${Math.round(pct)} %${pct >= BATTERY_ENOUGH ? "" : ": let it charge"}` };
}

/** The list of one unit, in the order of a walk around it. */
export function startLines(m: Morning): StartLine[] {
  if (m.unit.link === "offline") {
    const heard = ms(m.unit.last_heard_at);
    return [{ what: "Unit", standing: "todo", words: `offline${heard === null ? ", no data received" : `, last data ${moment(heard, m.now)}`}: switch it on` }];
  }
  return [heater(m), ...containers(m), dryer(m), ...strips(m), battery(m)];
}

/** How many lines of a unit want something done, and how many a look. */
export function startSum(lines: readonly StartLine[]): { todo: number; unknown: number } {
  return { todo: lines.filter((l) => l.standing === "todo").length, unknown: lines.filter((l) => l.standing === "unknown").length };
}
