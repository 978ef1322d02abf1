import type { JSX } from "preact";
import { useComputed } from "@preact/signals";
import { useStore } from "../context";
import { freshness } from "../state/fresh";
import type { Heard } from "../state/live";
import { degrees } from "../state/prefs";
import { limits, temperature } from "../words/measure";
import { age } from "../words/time";

const standings = { within: "", outside: "outside", settling: "settling", unknown: "" } as const;

/** The liquid on the film as a number, with its limits; greyed with its age when it is not of now. */
export function BathNow({ heard }: { heard: Heard }): JSX.Element | null {
  const { unit } = heard;
  const { bath, run } = unit;
  const store = useStore();
  // Looked at once a second, drawn again only when its words change.
  const aged = useComputed(() => {
    const f = freshness(store.unit(unit.id)?.value.unit ?? unit, store.now.value);
    return f.bath === "live" || f.bathAge === null ? "live" : `${f.bath}|${age(f.bathAge)}`;
  });
  if (!run || run.phase === "drying" || run.phase === "done" || run.phase === "waiting") return null;
  const inBath = run.phase === "in-bath";
  const doubtful = inBath ? bath.doubtful : undefined;
  if (doubtful) return <Doubtful c={doubtful.c} why={doubtful.why} />;
  if (bath.c === null) return inBath ? <div class="bath"><p class="now missing">no reading</p></div> : null;
  const [standing = "live", words = ""] = aged.value.split("|");
  const old = inBath && standing !== "live";
  const outside = bath.standing === "outside" && !old;
  const side = outside && bath.high_c !== null && bath.c > bath.high_c ? "▲" : outside ? "▼" : "";
  return (
    <div class={`bath${old ? ` old ${standing}` : ""}${outside ? " outside" : ""}`}>
      <p class="now num">
        {side && <span aria-hidden="true">{side}</span>}{temperature(bath.c, degrees.value)}
      </p>
      <p class="limits num">
        {old ? `${words} old` : bath.low_c !== null && bath.high_c !== null ? limits(bath.low_c, bath.high_c, degrees.value) : ""}
        {standings[bath.standing] && !old && <span class="standing"> {standings[bath.standing]}</span>}
      </p>
    </div>
  );
}

const whys = { range: "impossible", jump: "jumped", flat: "stuck", fahrenheit: "this is °F" } as const;

/** What the probe says, crossed out: it cannot be the liquid. Why stands in its alert: the lane has no room for it. */
function Doubtful({ c, why }: { c: number; why: keyof typeof whys }): JSX.Element {
  return (
    <div class="bath doubtful">
      <p class="now num"><span aria-hidden="true">? </span><s>{why === "fahrenheit" ? c.toFixed(1) : temperature(c, degrees.value)}</s></p>
      <p class="unseen">probe doubtful: {whys[why]}</p>
    </div>
  );
}
