import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import type { FilmLeft } from "../types";
import { stepWords } from "../words/steps";
import { clockSpan, hourMinute, hourMinuteSecond, ms } from "../words/time";

/** What to do with film that no run goes on with, at `now`: large what is to be done, and by when. */
export function leftWords(f: FilmLeft, now: number): { deed: string; at: string; left: string; due: boolean; rest: string } {
  const step = stepWords(f.step ?? "").full.toLowerCase();
  const act = f.developer ? ms(f.act_at ?? null) : null;
  const since = ms(f.left_at);
  const rest = `${f.state === "in-bath" ? `Film in ${step}` : `Film wet after ${step}`}; no run goes on with it${since === null ? "" : ` since ${hourMinute(since)}`}.`;
  if (act !== null) {
    const due = act <= now;
    return { deed: `Drain ${step} by hand`, at: due ? "now" : `at ${hourMinuteSecond(act)}`, left: due ? "" : `in ${clockSpan((act - now) / 1000)}`, due,
      rest: due ? `${rest} That time has passed: hold the rolls for inspection.` : `${rest} Turn the tank by hand until then.` };
  }
  if (!f.fixed) return { deed: "Keep the lid closed (dark).", at: "", left: "", due: true, rest: `${rest} Go on with the next bath by hand or with a rescue run.` };
  return { deed: "Finish the wash and dry the film", at: "", left: "", due: false, rest };
}

/** Film that its run has left behind. */
export function FilmRow({ film }: { film: FilmLeft }): JSX.Element {
  const store = useStore();
  const now = useComputed(() => Math.floor(store.now.value / 1000) * 1000);
  const w = leftWords(film, now.value);
  return (
    <div class={`advice${w.due ? " due" : ""}`} role="group" aria-label="What to do with this film" data-film={film.run}>
      <p class="deed">{w.deed} {w.at && <b class="num">{w.at}</b>} {w.left && <span class="left num">{w.left}</span>}</p>
      <p class="rests">{w.rest}</p>
    </div>
  );
}
