import type { JSX } from "preact";
import { useStore } from "../context";
import { freshness } from "../state/fresh";
import type { Heard } from "../state/live";
import { degrees } from "../state/prefs";
import { limits, temperature } from "../words/measure";
import { age } from "../words/time";

const standings = { within: "", outside: "outside", settling: "settling", unknown: "" } as const;

/** The liquid on the film as a number, with its limits; greyed with its age when it is not of now. */
export function BathNow({ heard }: { heard: Heard }): JSX.Element {
  const { unit } = heard;
  const { bath, run } = unit;
  const now = useStore().now.value;
  if (!run || run.phase === "drying" || run.phase === "done") return <div class="bath" />;
  const fresh = freshness(unit, now);
  const inBath = run.phase === "in-bath";
  if (bath.c === null) {
    return <div class="bath">{inBath && <p class="now missing">no reading</p>}</div>;
  }
  const old = inBath && fresh.bath !== "live";
  const outside = bath.standing === "outside" && !old;
  const side = outside && bath.high_c !== null && bath.c > bath.high_c ? "▲" : outside ? "▼" : "";
  return (
    <div class={`bath${old ? ` old ${fresh.bath}` : ""}${outside ? " outside" : ""}`}>
      <p class="now num">
        {temperature(bath.c, degrees.value)}
      </p>
      <p class="limits num">
        {old && fresh.bathAge !== null
          ? `${age(fresh.bathAge)} old`
          : bath.low_c !== null && bath.high_c !== null
            ? limits(bath.low_c, bath.high_c, degrees.value)
            : ""}
        {standings[bath.standing] && !old && <span class="standing"> {side && <span aria-hidden="true">{side} </span>}{standings[bath.standing]}</span>}
      </p>
    </div>
  );
}
