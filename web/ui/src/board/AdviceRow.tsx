import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import type { Outlook } from "../types";
import { adviceOf } from "./advice";

/** What to do with film that stands in a bath in trouble: the deed, when, and how long until then. */
export function AdviceRow({ outlook }: { outlook: Outlook }): JSX.Element {
  const store = useStore();
  const now = useComputed(() => Math.floor(store.now.value / 1000) * 1000);
  const a = adviceOf(outlook, now.value);
  const [first = "", ...rest] = outlook.text.split("\n");
  const byHand = outlook.why === "battery" || outlook.why === "silent";
  return (
    <div class={`advice${a.now ? " due" : ""}`} role="group" aria-label="What to do with this film">
      <p class="deed">
        {a.deed} {a.at && <b class="num">{a.at}</b>}{" "}
        {a.left && <span class="left num">in {a.left}</span>}
      </p>
      <p class="rests">
        {byHand && <b>{first} </b>}
        {a.more.join(" · ")}
        {!byHand && a.more.length === 0 && ` ${[first, ...rest].join(" ")}`}
      </p>
    </div>
  );
}
