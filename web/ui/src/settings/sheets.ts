import { inCelsius, plainDegrees, type Degrees } from "../words/measure";
import { clockSpan } from "../words/time";
import type { SheetStep } from "../types";
// What GET /sheets answers, and the lab's own change written as a sheet's file
// (YAML). Only text that this page wrote is read back; anything else is shown
// and changed as it stands.

/** The figures of a step that the form changes; what is left out stays as it is. */
export interface StepChange {
  aim_s?: number;
  least_s?: number;
  aim_c?: number;
  limits_c?: [number, number];
  /** Why the limits are wider than the published ones. */
  why?: string;
}

export type SheetChange = Record<string, StepChange>;

const line = /^ {2}- \{id: ([a-z0-9][a-z0-9-]*)((?:, [a-z_]+: (?:-?\d+(?:\.\d+)?|\[-?\d+(?:\.\d+)?, -?\d+(?:\.\d+)?\]))*)(?:, sources: \[\{figure: limits_c, from: ("(?:[^"\\]|\\.)*")\}\])?\}$/;
const part = /, ([a-z_]+): (-?\d+(?:\.\d+)?|\[(-?\d+(?:\.\d+)?), (-?\d+(?:\.\d+)?)\])/g;

/** Reads a change that was written by this page; null for anything else. */
export function readChange(id: string, text: string): SheetChange | null {
  const t = text.trim();
  if (t === "") return {};
  const [head, steps, ...rest] = t.split("\n");
  if (head !== `id: ${id}` || steps !== "steps:" || rest.length === 0) return null;
  const out: SheetChange = {};
  for (const l of rest) {
    const m = line.exec(l);
    if (!m) return null;
    const c: StepChange = {};
    for (const [, key = "", value = "", low, high] of (m[2] ?? "").matchAll(part)) {
      if (key === "limits_c" && low !== undefined && high !== undefined) c.limits_c = [Number(low), Number(high)];
      else if (key === "aim_s" || key === "least_s" || key === "aim_c") c[key] = Number(value);
      else return null;
    }
    try {
      if (m[3]) c.why = JSON.parse(m[3]) as string;
    } catch {
      return null;
    }
    out[m[1] ?? ""] = c;
  }
  return out;
}

/** Writes a change as the text of a sheet's file; "" for none. */
export function writeChange(id: string, change: SheetChange): string {
  const lines = Object.entries(change).flatMap(([step, c]) => {
    const parts: string[] = [];
    for (const k of ["aim_s", "least_s", "aim_c"] as const) if (c[k] !== undefined) parts.push(`${k}: ${c[k]}`);
    if (c.limits_c) parts.push(`limits_c: [${c.limits_c[0]}, ${c.limits_c[1]}]`);
    if (c.limits_c && c.why) parts.push(`sources: [{figure: limits_c, from: ${JSON.stringify(c.why)}}]`);
    return parts.length === 0 ? [] : [`  - {id: ${step}, ${parts.join(", ")}}`];
  });
  return lines.length === 0 ? "" : `id: ${id}\nsteps:\n${lines.join("\n")}\n`;
}

/** What the form holds, in the words of its fields. */
export interface StepFields {
  aim: string;
  least: string;
  c: string;
  low: string;
  high: string;
}

/** A step as the form shows it, temperatures in the reader's degrees. */
export const fieldsOf = (x: SheetStep, as: Degrees): StepFields => ({
  aim: x.aim_s === null ? "" : clockSpan(x.aim_s), least: x.least_s === null ? "" : clockSpan(x.least_s),
  c: plainDegrees(x.aim_c, as), low: plainDegrees(x.low_c, as), high: plainDegrees(x.high_c, as),
});

/** The figures of a step that differ from what the sheet has now; or what is wrong with a field. */
export function changeOf(s: SheetStep, f: StepFields, span: (t: string) => number | null, as: Degrees = "C"): { change: StepChange } | { trouble: string } {
  const change: StepChange = {};
  const num = (t: string): number | null => (/^-?\d+(\.\d+)?$/.test(t.trim()) ? Number(t) : null);
  const aim = span(f.aim);
  const least = f.least.trim() === "" ? null : span(f.least);
  const shown = fieldsOf(s, as);
  const celsius = (k: "c" | "low" | "high", had: number): number | null => {
    const v = num(f[k]);
    return f[k] === shown[k] ? had : v === null ? null : Number(inCelsius(v, as).toFixed(3));
  };
  const [c, low, high] = [celsius("c", s.aim_c), celsius("low", s.low_c), celsius("high", s.high_c)];
  if (f.aim.trim() !== "" && aim === null) return { trouble: `The time ${f.aim} must be such as 3:15, or seconds.` };
  if (f.least.trim() !== "" && least === null) return { trouble: `The least time ${f.least} must be such as 3:15, or seconds.` };
  if (c === null || low === null || high === null) return { trouble: "Temperatures must be numbers, such as 37.8." };
  if (low > c || c > high) return { trouble: `The aim of ${f.c} °${as} is not within ${f.low} to ${f.high} °${as}.` };
  if (aim !== null && least !== null && least > aim) return { trouble: "The least time is longer than the time aimed at." };
  if (aim !== null && aim !== s.aim_s) change.aim_s = aim;
  if (least !== null && least !== s.least_s) change.least_s = least;
  if (c !== s.aim_c) change.aim_c = c;
  if (low !== s.low_c || high !== s.high_c) change.limits_c = [low, high];
  return { change };
}

/** Whether limits are wider than those of a source that was read or quoted, which the sheet has now: then the reason is asked for. */
export function widened(s: SheetStep, limits: [number, number] | undefined): boolean {
  const standing = s.figures.find((f) => f.figure === "limits_c")?.standing ?? "";
  return limits !== undefined && standing !== "unconfirmed" && (limits[0] < s.low_c - 0.005 || limits[1] > s.high_c + 0.005);
}

const figures: Record<string, string> = {
  aim_s: "time", least_s: "least time", under_s: "tolerance under", over_s: "tolerance over", aim_c: "aim", limits_c: "limits", push_s: "push times", push_factor: "push factors",
  per_10c: "speed by temperature", edges: "edges of inspect and out of control", push_spread: "spread of push times", slower_cold: "times when cold", time_at_c: "times by temperature", rpm: "rotation", fills: "fills", dry_max_c: "dryer", light_safe: "light",
};

/** What a source speaks of: "aim_s limits_c" is "time and limits"; what is not known stays as it is. */
export function figureWords(figure: string): string {
  const words = figure.split(/\s+/).map((w) => figures[w] ?? w);
  return words.length === 2 && figure.split(/\s+/).every((w) => figures[w]) ? words.join(" and ") : words.join(" ");
}
