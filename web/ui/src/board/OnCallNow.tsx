import type { JSX } from "preact";
import { useStore } from "../context";
import { onCallNow } from "./oncall";

/** Who is called for an alert now; somebody whom no page reaches is told so where their name stands. */
export function OnCallNow(): JSX.Element | null {
  const list = onCallNow(useStore().duty.status.value);
  if (list === null) return null;
  if (list.length === 0) return <p class="oncall nobody">Nobody on call</p>;
  return (
    <p class="oncall">
      <span>On call</span>{" "}
      {list.map((p, i) => (
        <span key={p.name} class="who">{i > 0 && <i>then </i>}<b>{p.name}</b>{!p.reachable && <em> cannot be reached</em>}</span>
      ))}
    </p>
  );
}
