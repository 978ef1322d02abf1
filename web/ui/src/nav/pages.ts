import type { Route } from "../route";
import type { BooksUsed } from "../types";

/** A page that can be reached from everywhere. */
export interface NavPage {
  to: Route;
  name: string;
  /** Where the bar is short of room the highest go first; all of them stand under More. */
  rank: 1 | 2 | 3 | 4;
  /** Of a book that the lab may write: no page in the bar until it does. */
  book?: keyof BooksUsed;
}

/** In the order of a shift: what goes on, what goes in, what went through, then the house. */
export const navPages: readonly NavPage[] = [
  { to: "board", name: "Board", rank: 1 },
  { to: "alerts", name: "Alerts", rank: 1 },
  { to: "load", name: "Load", rank: 1 },
  { to: "rolls", name: "Rolls", rank: 3 },
  { to: "runs", name: "Runs", rank: 2 },
  { to: "strips", name: "Strips", rank: 2 },
  { to: "mixes", name: "Mixes", rank: 4, book: "mixes" },
  { to: "waste", name: "Waste", rank: 4, book: "waste" },
  { to: "start", name: "Start of day", rank: 2 },
  { to: "duty", name: "On call", rank: 3 },
  { to: "hand-over", name: "Hand-over", rank: 3 },
  { to: "settings", name: "Settings", rank: 3 },
];

/** The page of the bar that a route belongs to: a run's report to the runs. */
export const belongsTo = (r: Route): Route => (r === "report" ? "runs" : r === "alert" || r === "figures" ? "alerts" : r === "set-up" ? "settings" : r === "unit" ? "board" : r);
