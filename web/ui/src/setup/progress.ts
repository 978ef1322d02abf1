import type { DutyNow } from "../duty/types";
import type { House, UnitStanding } from "../types";

// How far the first set-up has come: read from what the server knows, so that
// it can be left, done elsewhere and come back to. Only skips are remembered here.

export const stepIds = ["you", "lab", "units", "called", "wall"] as const;
export type StepId = (typeof stepIds)[number];

export type StepState = "done" | "skipped" | "open";

export interface Known {
  signedIn: boolean;
  house: Pick<House, "time_zone"> | null;
  units: readonly { standing?: UnitStanding }[];
  duty: Pick<DutyNow, "set" | "plan" | "people"> | null;
  me: string;
  /** A test page was handed over to one of my ways. */
  paged: boolean;
  links: number;
  skipped: ReadonlySet<string>;
}

export function progress(k: Known): Record<StepId, StepState> {
  const done: Record<StepId, boolean> = {
    you: k.signedIn,
    lab: (k.house?.time_zone ?? "") !== "",
    units: k.units.some((u) => u.standing === "accepted"),
    called: Boolean(k.duty?.set) && (k.duty?.plan.hours ?? []).length > 0 && k.paged,
    wall: k.links > 0,
  };
  return Object.fromEntries(stepIds.map((id) => [id, done[id] ? "done" : k.skipped.has(id) ? "skipped" : "open"])) as Record<StepId, StepState>;
}

/** The step to show: the first that is open, else the last. */
export const firstOpen = (p: Record<StepId, StepState>): StepId => stepIds.find((id) => p[id] === "open") ?? "wall";

export const stepName: Record<StepId, string> = { you: "You", lab: "The lab", units: "Units", called: "Who is called", wall: "The wall" };

/** What a skipped step leaves undone, said plainly. */
export const skipMeans: Record<StepId, string> = {
  you: "",
  lab: "Times on the on-call plan go by UTC, and the lab is always open.",
  units: "Nothing is watched until a unit has sent data and is accepted.",
  called: "Until there is a plan, an alert calls everybody who has a phone, mail or webhook entered; while nobody has, it shows on the board only.",
  wall: "The board opens on screens where somebody signs in.",
};

const HELD = "wetside.set-up-skipped";

export function recallSkips(): Set<string> {
  try {
    return new Set(JSON.parse(localStorage.getItem(HELD) ?? "[]") as string[]);
  } catch {
    return new Set();
  }
}

export function rememberSkips(s: ReadonlySet<string>): void {
  try {
    localStorage.setItem(HELD, JSON.stringify([...s]));
  } catch {
    // No storage here: a skip lasts for the visit.
  }
}
