import { degrees } from "../state/prefs";
import { stripWords } from "../strips/strips";
import type { StripStanding } from "../strips/types";
import { stepNameWords } from "../words/entry";
import { filmDoings } from "../words/film";
import { temperature } from "../words/measure";
import { ms } from "../words/time";
import { decisionWord, runKindWord } from "../words/verdict";
import type { Entry } from "../types";

const DAY = 24 * 3600_000;

/** A time of day "14:27" or "14:27:05" on the day that puts it nearest to a moment; null for what is none. */
export function timeNear(text: string, near: number): number | null {
  const m = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?$/.exec(text.trim());
  if (!m || Number(m[1]) > 23 || Number(m[2]) > 59 || Number(m[3] ?? 0) > 59) return null;
  const d = new Date(near);
  d.setHours(Number(m[1]), Number(m[2]), Number(m[3] ?? 0), 0);
  const t = d.getTime();
  if (t - near > DAY / 2) return t - DAY;
  return near - t > DAY / 2 ? t + DAY : t;
}

interface Body {
  from?: string;
  to?: string | null;
  text?: string;
  add?: { twin_check: string }[];
  remove?: string[];
  kind?: string;
  decision?: string;
  owner?: string;
  seen?: string;
  all?: boolean;
  rolls?: ({ twin_check: string } | string)[];
  container?: string;
  what?: string;
  run?: string;
  id?: string;
  c?: number;
  name?: string;
  step?: string;
  standing?: string;
  reason?: string;
}

/** On which rolls a fault was seen; that nobody said so is said. */
export function onRolls(rolls: readonly string[], all: boolean): string {
  if (all) return "on all rolls";
  if (rolls.length === 0) return "rolls not said";
  return `on ${rolls.length === 1 ? "roll" : "rolls"} ${rolls.join(", ")}`;
}

/** What an entry says, in words; times by `clock`. */
export function entryWords(e: Entry, clock: (t: number) => string): string {
  const b = (typeof e.body === "object" && e.body !== null ? e.body : {}) as Body;
  const at = (s: string | null | undefined): string => {
    const t = ms(s);
    return t === null ? "?" : clock(t);
  };
  switch (e.what) {
    case "turned-by-hand":
      return `Turned by hand from ${at(b.from)} ${b.to ? `to ${at(b.to)}` : "to the end of the outage"}`;
    case "drained":
      return `Drained by hand at ${at(e.at)}`;
    case "film":
      return `Film: ${(filmDoings.find(([k]) => k === b.what)?.[1] ?? b.what ?? "").toLowerCase()}, ${at(e.at)}`;
    case "continues":
      return b.run ? "Goes on with the film of an earlier run" : "Is a film of its own";
    case "measured":
      return `Measured ${b.c === undefined ? "?" : temperature(b.c, degrees.value)}, ${at(e.at)}`;
    case "step-name":
      return stepNameWords(b.name ?? "", b.step ?? "");
    case "strip":
      return `Control strip read: ${b.standing && b.standing in stripWords ? stripWords[b.standing as StripStanding][1] : "not judged"}`;
    case "strip-gate":
      return `Gate of the control strips opened: ${b.reason ?? ""}`;
    case "note":
      return b.text ?? "Note";
    case "rolls":
      return [
        (b.add ?? []).length > 0 ? `Rolls added: ${(b.add ?? []).map((r) => r.twin_check).join(", ")}` : "",
        (b.remove ?? []).length > 0 ? `Rolls removed: ${(b.remove ?? []).join(", ")}` : "",
      ].filter(Boolean).join(". ") || "Rolls";
    case "load":
      return `Loaded with ${(b.rolls ?? []).length === 1 ? "1 roll" : `${(b.rolls ?? []).length} rolls`}`;
    case "unload":
      return "Load undone";
    case "run-kind":
      return `Run type: ${runKindWord(b.kind ?? "")}`;
    case "decision":
      return `Decision${(b.rolls ?? []).length > 0 ? ` on ${(b.rolls ?? []).map(String).join(", ")}` : ""}: ${decisionWord(b.decision ?? "").toLowerCase()}`;
    case "film-owner":
      return `${b.owner ?? "?"} will decide about the film`;
    case "symptom":
      return `Seen on the film: ${(b.seen ?? "").replaceAll("-", " ")}, ${onRolls((b.rolls ?? []).map(String), b.all === true)}`;
    case "container":
      return `${b.container ?? "Container"} ${(b.what ?? "").replaceAll("-", " ")}`;
    case "takes-back":
      return "Undid an entry";
    default:
      return e.what.replaceAll("-", " ");
  }
}

/** The ids of entries that hold no more, as later ones say. */
export function takenBack(entries: readonly Entry[]): Set<string> {
  return new Set(
    entries.flatMap((e) => {
      const id = e.what === "takes-back" ? (e.body as Body | undefined)?.id : undefined;
      return id ? [id] : [];
    }),
  );
}
