import type { Degrees, Volumes } from "./measure";
import { inDegrees, litres, temperature } from "./measure";
import { processName, pushName, stepWords } from "./steps";
import { errorFull } from "./stops";
import { age, clockSpan, hourMinuteSecond, ms } from "./time";

// The facts of an alert (alert.facts) in words. Their names end in the unit of
// measure; what is not known by name is named by itself.

const names: Record<string, string> = {
  act_at: "To be done by",
  bath_c: "Bath",
  low_c: "Lowest allowed",
  high_c: "Highest allowed",
  aim_c: "Aim",
  off_c: "Off by",
  max_c: "Warmest in this bath",
  min_c: "Coolest in this bath",
  dryer_c: "Dryer",
  sheet_s: "Time of the sheet",
  set_s: "Time set on the unit",
  time_s: "Time it got",
  for_s: "For how long",
  outage_s: "Mains power lost for",
  respond_s: "Time to respond",
  level_l: "Level",
  capacity_l: "It holds",
  still_to_come_l: "Still to come in this run",
  still_to_draw_l: "Still to be drawn in this run",
  over_l: "Too much by",
  short_l: "Short by",
  should_l: "Expected rise",
  risen_l: "Measured rise",
  moved_l: "Moved",
  off_l: "Off by",
  by_pumping_l: "Level by pumped volume",
  next_run_l: "The next run needs",
  drain_in_s: "Until that drain",
  draw_in_s: "Until it is drawn",
  drain_step: "The drain after",
  draw_step: "Drawn for",
  push_error_end_stops: "Push error at the end, if nothing is done",
  push_error_so_far_stops: "Push error until now",
  push_error_now_stops: "Push error if it ended now",
  last_heard_at: "Last data",
  battery_pct: "Battery",
  rpm: "Rotation",
  container: "Container",
  skipped: "Skipped",
  film: "The film is",
  fixed: "Fixed",
  step: "Step",
  process: "Process",
  push: "Push",
  phase: "Phase",
  units: "Units",
  circuit: "Circuit",
  network: "Network",
  way: "Contact method",
  reason: "Reason",
  topic: "Topic",
};

/** For machines, or said better elsewhere on the page. */
const unsaid = new Set(["outlook", "response", "ask", "code", "kind", "measured", "estimated", "assumed", "push_error_end_low_stops", "push_error_end_high_stops"]);

export interface Fact {
  name: string;
  words: string;
}

interface As {
  degrees: Degrees;
  volumes: Volumes;
  nameOf(unit: string): string;
}

export function factsInWords(facts: Record<string, unknown> | null, as: As): Fact[] {
  const out: Fact[] = [];
  for (const [key, value] of Object.entries(facts ?? {})) {
    if (unsaid.has(key)) continue;
    const words = said(key, value, facts ?? {}, as);
    if (words !== "") out.push({ name: names[key] ?? sentence(key.replace(/_(c|s|l|at|pct|stops)$/, "")), words });
  }
  const order = Object.values(names);
  const rank = (f: Fact): number => (order.indexOf(f.name) + order.length) % order.length;
  return out.sort((a, b) => rank(a) - rank(b));
}

function said(key: string, value: unknown, facts: Record<string, unknown>, as: As): string {
  if (Array.isArray(value)) return value.map((v) => said(key, v, facts, as)).filter((w) => w !== "").join(", ");
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") return number(key, value, facts, as);
  if (typeof value !== "string" || value === "") return "";
  if (key === "units") return as.nameOf(value);
  if (key === "process") return processName(value);
  if (key.endsWith("step") || key === "skipped") return stepWords(value).full.toLowerCase();
  const t = key.endsWith("_at") || key.endsWith("_until") || key.endsWith("_from") ? ms(value) : null;
  return t === null ? value.replaceAll("-", " ") : hourMinuteSecond(t);
}

function number(key: string, v: number, facts: Record<string, unknown>, as: As): string {
  if (key === "off_c") return `${((inDegrees(Math.abs(v), as.degrees) - inDegrees(0, as.degrees))).toFixed(1)} °${as.degrees} too ${v > 0 ? "warm" : "cool"}`;
  // Limits in as many decimals as they have: 37.65 is not 37.6.
  if (key === "low_c" || key === "high_c" || key === "aim_c") return `${Number(inDegrees(v, as.degrees).toFixed(2))} °${as.degrees}`;
  if (key.endsWith("_c")) return temperature(v, as.degrees);
  if (key.endsWith("_l")) return litres(v, as.volumes);
  if (key.endsWith("_stops")) {
    const side = (which: string): number | null => {
      const x = facts[key.replace("_stops", `_${which}_stops`)];
      return typeof x === "number" ? x : null;
    };
    return errorFull(v, side("low"), side("high"));
  }
  if (key.endsWith("_s")) return v >= 3600 ? age(v) : `${clockSpan(v)} min`;
  if (key.endsWith("_pct")) return `${Math.round(v)} %`;
  if (key === "push") return pushName(v) || "none";
  if (key === "rpm") return `${v.toFixed(0)} turns a minute`;
  return Number.isInteger(v) ? String(v) : v.toFixed(2);
}

const sentence = (s: string): string => {
  const t = s.replaceAll("_", " ");
  return t.charAt(0).toUpperCase() + t.slice(1);
};
