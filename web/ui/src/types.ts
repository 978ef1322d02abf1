// What the API sends, mirrored from internal/lab (view.go, alert.go, run.go).
// Times are RFC 3339 strings; a field that may be null here is null there.

export type Link = "online" | "silent" | "offline";
export type Activity = "idle" | "running" | "waiting" | "drying";
export type BathStanding = "within" | "outside" | "settling" | "unknown";
export type UnitStanding = "new" | "accepted" | "out-of-service" | "retired";
export type Phase =
  | "idle"
  | "heating"
  | "filling"
  | "in-bath"
  | "draining"
  | "waiting"
  | "drying"
  | "done"
  | "aborted";
export type ContainerRole = "waste" | "wash" | "recovery" | "bottle";
export type Priority = "urgent" | "high" | "low";
export type AlertState = "unacknowledged" | "acknowledged" | "cleared-unacknowledged" | "closed";
export type UserRole = "viewer" | "operator" | "lead";
export type PlanState = "past" | "now" | "ahead" | "skipped" | "unheard";

export interface PlanStep {
  n: number;
  step: string;
  label: string;
  kind: string;
  aim_s: number;
  aim_c: number | null;
  low_c: number | null;
  high_c: number | null;
  state: PlanState;
  started_at: string | null;
  ended_at: string | null;
}

export interface UnitRun {
  id: string;
  run: string;
  process: string;
  push: number;
  kind: string;
  started_at: string;
  step: string;
  /** The step as the sheet names it. */
  label?: string;
  n: number;
  of: number;
  phase: Phase;
  waits_for?: string;
  set_s: number | null;
  elapsed_s: number | null;
  step_left_s: number | null;
  remaining_s: number | null;
  ends_at: string | null;
  plan: PlanStep[] | null;
  /** That this run carries; what is loaded meanwhile for the next one stands in the unit's load. */
  rolls?: Roll[] | null;
}

export interface Bath {
  c: number | null;
  low_c: number | null;
  high_c: number | null;
  standing: BathStanding;
  at: string | null;
  /** What the probe says where it is not believed; c is then the last that was. */
  doubtful?: { c: number; why: "range" | "jump" | "flat" | "fahrenheit"; at: string };
}

export interface Light {
  state: "dark" | "safe" | "none";
  since: string | null;
}

export interface Power {
  source: "mains" | "battery" | "unknown";
  since: string | null;
  battery_pct: number | null;
}

export interface Container {
  name: string;
  role: ContainerRole;
  litres: number | null;
  capacity_l: number;
  fraction: number | null;
  /** Null: not known, or a run does not touch it; then next_run_l is 0. */
  runs_left: number | null;
  float_closed?: boolean;
  owed_l?: number | null;
  /** Absent: not known. */
  next_run_l?: number | null;
  next_run_by?: "run" | "unit" | "model";
  at: string | null;
  measured?: MeasuredLevel;
}

/** A level that a person measured, and whether it counts (internal/lab/view.go). */
export interface MeasuredLevel {
  litres: number;
  at: string;
  /** Null: no sensor sent anything then. */
  sensor_litres: number | null;
  used: boolean;
  ended_at: string | null;
  why: "" | "sensor-moved" | "too-old";
}

export interface Unit {
  id: string;
  name: string;
  standing?: UnitStanding;
  link: Link;
  activity: Activity;
  run: UnitRun | null;
  bath: Bath;
  light: Light;
  power: Power;
  containers: Container[] | null;
  clock_offset_s: number | null;
  last_heard_at: string | null;
  open_alerts: string[] | null;
  model?: string;
  firmware?: string;
  processes?: string[];
  room_c?: number | null;
  rpm?: number | null;
  outlook?: Outlook | null;
  load?: Load | null;
  fault?: UnitFault | null;
  /** Of its control strips, by process; those that say something. */
  gates?: StripGate[] | null;
  /** In it, and no run goes on with it; newest first. */
  film?: FilmLeft[] | null;
}

/** The gate of a unit's chemistry (internal/lab/strip.go). */
export interface StripGate {
  process: string;
  mix?: string;
  gate: "in" | "watch" | "stop";
  text?: string;
  needs?: "strip" | "second-strip";
  since?: string | null;
  last_in_at: string | null;
}

/** Film in a bath or wet that no run goes on with (internal/lab/film.go). */
export interface FilmLeft {
  run: string;
  run_name: string;
  process: string;
  state: "in-bath" | "wet";
  fixed: boolean;
  step?: string;
  left_at: string | null;
  act_at?: string | null;
  developer?: boolean;
}

/** A run's film with its whole way. */
export interface Film {
  id: string;
  runs: FilmRun[];
  state: "dry" | "in-bath" | "wet" | "done" | "moved" | "dried" | "discarded";
  fixed: boolean;
  step?: string;
  decided: boolean;
  verdict: Run["verdict"];
  push_error_stops: number | null;
  push: number;
  said?: { what: string; at: string; by?: string };
}

export interface FilmRun {
  id: string;
  run: string;
  started_at: string;
  ended_at: string | null;
  outcome: Run["outcome"];
  proposed?: boolean;
}

/** A fault of wetside's own: the unit is not judged, or (judged) only shown as it last could be. */
export interface UnitFault {
  since: string;
  judged: boolean;
  text: string;
}

/** What to do with film that stands in a bath in trouble (internal/lab/outlook.go). */
export interface Outlook {
  step: string;
  why: "battery" | "silent" | "resumed" | "temperature";
  action: string;
  act_at: string | null;
  go_on_until: string | null;
  drain_from: string | null;
  too_late_from: string | null;
  push_stops: number | null;
  push_low_stops: number | null;
  push_high_stops: number | null;
  now_stops: number | null;
  text: string;
  measured: string[] | null;
  estimated: string[] | null;
  assumed: string[] | null;
}

export interface Alert {
  id: string;
  rule: string;
  unit: string;
  run?: string;
  step?: string;
  subject?: string;
  priority: Priority;
  state: AlertState;
  occurrence: number;
  raised_at: string;
  noticed_at: string;
  found_afterwards: boolean;
  cleared_at: string | null;
  acknowledged_at: string | null;
  acknowledged_by?: string;
  shelved_until: string | null;
  shelved_by?: string;
  shelved_reason?: string;
  held?: string;
  withdrawn?: boolean;
  message: string;
  consequence: string;
  response: string;
  facts: Record<string, unknown> | null;
}

export interface Job {
  unit: string;
  what: string;
  due_at: string;
  run?: string;
  /** It is due by no minute: it stands behind what is, and makes no crowd. */
  patient?: boolean;
}

export interface TracePoint {
  at: string;
  bath_c?: number;
  preheat_c?: number;
  wash_c?: number;
  dryer_c?: number;
  room_c?: number;
}

export interface RunStep {
  n: number;
  step: string;
  fills: number;
  started_at?: string | null;
  sheet_s: number | null;
  set_s: number | null;
  time_s: number | null;
  low_c: number | null;
  high_c: number | null;
  mean_c: number | null;
  min_c: number | null;
  max_c: number | null;
  outside_s: number | null;
  equivalent_s: number | null;
  push_error_stops: number | null;
  push_error_low_stops: number | null;
  push_error_high_stops: number | null;
  /** What would narrow the range most, and to which part of its width. */
  narrower?: { text: string; to: number } | null;
}

export interface Outage {
  lost_at: string | null;
  back_at: string | null;
  outage_s: number | null;
  kind: string;
  step?: string;
  advice?: string | null;
  advised_remaining_s: number | null;
  text: string;
}

export interface Run {
  id: string;
  unit: string;
  run: string;
  process: string;
  push: number;
  kind: string;
  started_at: string;
  ended_at: string | null;
  outcome: "running" | "done" | "aborted" | "lost";
  verdict: "in-control" | "inspect" | "out-of-control" | null;
  push_error_stops: number | null;
  reasons: { code: string; step?: string; text: string }[] | null;
  steps: RunStep[] | null;
  outages: Outage[] | null;
  gaps: { boot: string; from_seq: number; to_seq: number }[] | null;
  alerts: string[] | null;
  rolls: Roll[] | null;
  decision?: Decision | null;
  seal?: { sealed_at: string; index: number; hash: string } | null;
  film?: Film | null;
  continues?: string | null;
}

export interface Roll {
  twin_check: string;
  process?: string;
  push?: number;
  film?: string;
  format?: string;
  order?: string;
  due_at?: string | null;
  note?: string;
  /** About this roll; without one the run's counts. */
  decision?: Decision | null;
}

export interface Decision {
  decision: string;
  note?: string;
  by: string;
  at: string;
  customer_told_at?: string | null;
}

/** What the next run of a unit carries, or this one. */
export interface Load {
  process: string;
  push: number;
  rolls: Roll[] | null;
  answers?: RollAnswer[] | null;
}

/** What a person answered where a roll raised a question. */
export interface RollAnswer {
  roll: string;
  code: string;
  of?: string;
  answer: string;
}

// Session is what GET /api/v1/session answers to anyone.
export interface Session {
  setup_needed: boolean;
  name: string | null;
  role: UserRole | null;
}

// Frames of the WebSocket. `at` is the server's clock when it sent the frame.
export type Frame =
  | { type: "snapshot"; at?: string; units: Unit[] | null; alerts: Alert[] | null }
  | { type: "unit"; at?: string; unit: Unit }
  | { type: "alert"; at?: string; alert: Alert }
  | { type: "beat"; at?: string };
