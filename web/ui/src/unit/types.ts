// What the API says of a unit's care and figures (web/routes_checks.go, routes_figures.go, routes_entries.go).

export interface Entry {
  id: string;
  unit: string;
  run?: string;
  what: string;
  at: string;
  entered: string;
  by: string;
  body: Record<string, unknown> | null;
  taken_back: { at: string; by: string } | null;
}

export interface Check {
  check: string;
  label: string;
  how: string;
  days: number;
  /** Where the interval is from, and how far that goes. */
  from?: string;
  standing?: string;
  is: "never" | "fine" | "due-soon" | "overdue" | "fault";
  due_at: string | null;
  last: { id: string; at: string; by: string; ok: boolean; value: number | null; note: string } | null;
}

interface SetBy {
  id: string;
  by: string;
  at: string;
}

export interface Figures {
  probe: (SetBy & { offset_c: number; uncertainty_c?: number | null; reference?: string }) | null;
  probe_kind?: (SetBy & { class: string; within_c: number }) | null;
  house_aims: (SetBy & { process: string; step: string; push: number; equivalent_s: number })[] | null;
  developers: (SetBy & { process: string; step: string; developer: string })[] | null;
  step_names: (SetBy & { process: string; name: string; step?: string })[] | null;
  step_time: (SetBy & { with_fill: boolean; with_drain: boolean }) | null;
  history: Entry[] | null;
}

export interface Developer {
  id: string;
  name: string;
  film: string;
  brew: string;
  dilution: string;
  format: string;
}
