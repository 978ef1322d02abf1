import type { Outlook } from "../types";
import { hourMinuteSecond, clockSpan, ms } from "../words/time";
import { stepWords } from "../words/steps";
import { thirds } from "../words/stops";

/** What to do with the film, in pieces: the deed large, the time of day, what is left until then. */
export interface Advice {
  deed: string;
  at: string;
  left: string;
  /** "until": it may go on until then; "at": it is to be done then. */
  word: "until" | "at";
  /** The time for it has come. */
  now: boolean;
  more: string[];
}

const deeds: Record<string, string> = {
  "go-on": "Leave the film in",
  "drain-at": "Drain it",
  hold: "Too late to drain: leave it in, hold the rolls for inspection",
  continue: "Go on as set",
  shorten: "End it sooner",
  extend: "Give it longer",
  repeat: "Do this bath again",
  fill: "Finish the fill",
  discard: "Drain it now, hold the rolls",
};

const timed = new Set(["drain-at", "drain", "fill", "shorten", "extend"]);

/** Words for an outlook at `now`, the server's clock. */
export function adviceOf(o: Outlook, now: number): Advice {
  const act = timed.has(o.action) ? ms(o.act_at) : null;
  const until = o.action === "go-on" ? ms(o.go_on_until) : null;
  const at = act ?? until;
  const due = act !== null && act <= now;
  const name = stepWords(o.step).full.toLowerCase();
  const deed = o.action === "drain-at" ? `Drain ${name}` : o.action === "drain" ? `Drain ${name} by hand` : (deeds[o.action] ?? o.action.replaceAll("-", " "));
  const word = act === null ? "until" : "at";
  return {
    deed,
    at: at === null ? "" : due ? "now" : `${word} ${hourMinuteSecond(at)}`,
    left: at === null || at <= now ? "" : clockSpan((at - now) / 1000),
    word,
    now: due,
    more: [...moments(o, now), ...push(o)],
  };
}

function moments(o: Outlook, now: number): string[] {
  const out: string[] = [];
  const drain = ms(o.action === "go-on" ? (o.act_at ?? o.drain_from) : null);
  if (drain !== null && drain > now) out.push(`If it is not back by then, drain at ${hourMinuteSecond(drain)}`);
  const late = ms(o.too_late_from);
  if (late !== null && o.action !== "hold") out.push(late > now ? `Too late to drain after ${hourMinuteSecond(late)}` : "Too late to drain now");
  return out;
}

function push(o: Outlook): string[] {
  if (o.push_stops === null) return [];
  const best = thirds(o.push_stops);
  const low = o.push_low_stops === null ? best : thirds(o.push_low_stops);
  const high = o.push_high_stops === null ? best : thirds(o.push_high_stops);
  const range = low === high ? "" : ` (${low} to ${high})`;
  return [best === "0" && range === "" ? "Push error then under ⅙ stop" : `Push error then ${best} stop${range}`];
}
