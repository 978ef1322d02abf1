import type { Film, Run } from "../types";

/** What people say was done with film, and the words on the buttons. */
export const filmDoings: [string, string][] = [
  ["drained", "Bath drained by hand"],
  ["moved", "Moved to another tank"],
  ["dried", "Finished by hand and dried"],
  ["discarded", "Discarded"],
];

const states: Record<Film["state"], string> = {
  dry: "not wet yet",
  "in-bath": "in a bath",
  wet: "wet, in the tank",
  done: "dried, or drying",
  moved: "moved to another tank",
  dried: "finished by hand and dried",
  discarded: "discarded",
};

export const filmStateWord = (f: Film): string => states[f.state] ?? f.state;

/** What a list says of a run that is one of several of its film. */
export function filmRemark(r: Run): string {
  const runs = r.film?.runs ?? [];
  const i = runs.findIndex((x) => x.id === r.id);
  if (runs.length < 2 || i < 0) return "";
  const before = runs[i - 1];
  const after = runs[i + 1];
  if (before && after) return `One film: after ${before.run}, goes on in ${after.run}.`;
  return before ? `One film: goes on from ${before.run}.` : `One film: goes on in ${after?.run}.`;
}
