import { signal } from "@preact/signals";

export type Route =
  | "board" | "alerts" | "alert" | "runs" | "report" | "load" | "start" | "unit" | "duty" | "hand-over" | "figures" | "strips" | "settings" | "set-up" | "rolls" | "mixes" | "waste";

export interface Place {
  page: Route;
  /** What comes after the page's name: a run's id, a unit's. */
  rest: string;
}

const known: readonly Route[] = ["board", "alerts", "runs", "load", "start", "unit", "duty", "hand-over", "figures", "strips", "settings", "set-up", "rolls", "mixes", "waste"];

/** Reads the part of an address after #. A run is at #/runs/ID. */
export function readPlace(hash: string): Place {
  const [name = "", ...more] = hash.replace(/^#\/?/, "").split("?")[0]?.split("/") ?? [];
  const rest = more.map(plain).filter((s) => s !== "").join("/");
  if (name === "runs" && rest !== "") return { page: "report", rest };
  if (name === "alerts" && rest !== "") return { page: "alert", rest };
  const page = known.find((r) => r === name) ?? "board";
  return { page, rest };
}

function plain(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

const start = readPlace(location.hash);

/** The page that is shown; links are plain anchors to #/alerts and so on. */
export const route = signal<Route>(start.page);

/** What the page is about. */
export const subject = signal(start.rest);

addEventListener("hashchange", () => {
  const p = readPlace(location.hash);
  subject.value = p.rest;
  route.value = p.page;
});

export const runLink = (id: string): string => `#/runs/${encodeURIComponent(id)}`;
export const alertLink = (id: string): string => `#/alerts/${encodeURIComponent(id)}`;
export const unitLink = (id: string): string => `#/unit/${id}`;
