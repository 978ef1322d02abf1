import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import type { Outlook } from "../types";
import { adviceOf } from "./advice";
import { said } from "../state/said";

/** Nothing turns the film by itself. */
const byHand: Partial<Record<Outlook["why"], string>> = { battery: "Turn the tank by hand.", silent: "No power? Turn the tank by hand." };

/** What to do with film that stands in a bath in trouble: the deed, when, and how long until then. */
export function AdviceRow({ outlook }: { outlook: Outlook }): JSX.Element {
  const store = useStore();
  const now = useComputed(() => Math.floor(store.now.value / 1000) * 1000);
  const a = adviceOf(outlook, now.value);
  return (
    <div class={`advice${a.now ? " due" : ""}`} role="group" aria-label="What to do with this film">
      <p class="deed">
        {outlook.action !== "drain" && byHand[outlook.why] && <span class="byhand">{byHand[outlook.why]}</span>}
        {a.deed} {a.at && <b class="num">{a.at}</b>}{" "}
        {a.left && <span class="left num">{a.word === "until" ? `${a.left} left` : `in ${a.left}`}</span>}
      </p>
      <p class="rests">
        {said(a.more.length > 0 ? `${a.more.join(". ")}.` : outlook.text.replaceAll("\n", " "))}
      </p>
    </div>
  );
}
