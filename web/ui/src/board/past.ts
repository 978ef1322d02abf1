// What the API tells of an alert's past and of its pages.

export interface AlertEvent {
  at: string;
  what: string;
  occurrence: number;
  by?: string;
  note?: string;
}

export interface PageTry {
  at: string;
  way: string;
  outcome: "sent" | "failed" | "gone" | "unavailable";
  detail: string;
}

export interface PageSent {
  id: number;
  step: number;
  person: string;
  made_at: string;
  state: "held" | "waiting" | "sent" | "dropped";
  why: string;
  held_until: string | null;
  sent_at: string | null;
  sent_by: string;
  opened_at: string | null;
  tries: PageTry[] | null;
}

export interface AlertPages {
  pages: PageSent[] | null;
  next: { at: string; step: number; people: string[] | null } | null;
  answered_by: string;
  answered_at: string | null;
}
