import type { JSX } from "preact";
import { useStore } from "../context";
import type { Unit } from "../types";
import { containerName, willLast } from "../words/container";

/** Will it last: each container that the next run touches, with its runs and the time of day. */
export function WillLast({ unit }: { unit: Unit }): JSX.Element | null {
  const now = useStore().now.value;
  const list = unit.containers.filter((c) => c.lasts_why !== "untouched");
  if (list.length === 0) return null;
  return (
    <dl class="facts" aria-label="Will it last?">
      {list.map((c) => (
        <div key={c.name}><dt>{containerName(c)}</dt><dd>{willLast(c, now)}</dd></div>
      ))}
    </dl>
  );
}
