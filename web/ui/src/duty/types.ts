import type { UserRole } from "../types";
import type { Step } from "../words/duty";

// What the API says of duty (internal/lab/duty.go, dutyview.go).

export interface Hours {
  days: string[];
  from: string;
  to: string;
  people: string[];
}

export type Quiet = Omit<Hours, "people">;

export interface Plan {
  time_zone: string;
  hours: Hours[] | null;
  urgent: Step[] | null;
  high: Step[] | null;
  repeat_urgent_s: number;
  repeat_high_s: number;
  quiet: Quiet[] | null;
  flood: { pages: number; in_s: number; gather_s: number };
  retries_s: number[] | null;
  link_hours: number;
  weekly_test?: { day: string; at: string };
  address: string;
}

export interface Swap {
  id: number;
  day: string;
  off: string;
  on: string;
  note?: string;
  by: string;
  at: string;
}

export interface DutyPerson {
  name: string;
  role: UserRole;
  ways: string[] | null;
  reachable: boolean;
  /** Why no page reaches them; "" where one does. */
  why: string;
  on: number;
}

export interface DutyNow {
  plan: Plan;
  set: boolean;
  version: number;
  changed_at: string | null;
  changed_by: string;
  on: string[] | null;
  dark: { person: string; until: string }[] | null;
  swaps: Swap[] | null;
  gaps: { from: string; to: string }[] | null;
  quiet_until: string | null;
  people: DutyPerson[] | null;
  warnings: string[] | null;
}

export interface Contacts {
  person: string;
  ways: string[] | null;
  mail: string;
  webhook: string;
  webhook_signed: boolean;
  webhook_off: string | null;
  push: { id: number; device: string; at: string }[] | null;
  webhook_secret: string;
}

export interface PageTest {
  id: string;
  way: string;
  at: string;
  state: "waiting" | "sent" | "dropped";
  tries: { at: string; way: string; outcome: string; detail: string; took_ms: number }[] | null;
}

export interface LogEntry {
  id: number;
  at: string;
  by: string;
  what: string;
  person: string;
  detail: unknown;
}
