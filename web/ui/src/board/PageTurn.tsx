import type { JSX } from "preact";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import type { Wall } from "./useWall";

/** Where there are more lanes than the wall can show: which page it is, who needs someone on the others, and a way to hold it. */
export function PageTurn({ wall }: { wall: Wall }): JSX.Element | null {
  const store = useStore();
  const { plan, page, held } = wall;
  if (plan.pages.length < 2) return null;
  const here = Math.min(page.value, plan.pages.length - 1);
  const shown = new Set((plan.pages[here] ?? []).map((p) => p.id));
  const kinds = store.kinds.value;
  const away = store.order.value.filter((id) => !shown.has(id) && (kinds.get(id) ?? "calm") !== "calm");
  const go = (n: number): void => {
    store.touched();
    page.value = (n + plan.pages.length) % plan.pages.length;
  };
  return (
    <nav class={`turn${away.length > 0 ? " away" : ""}`} aria-label="Pages of lanes">
      {away.length > 0 && (
        <p class="others"><b>{away.length === 1 ? "1 more needs" : `${away.length} more need`} someone:</b> {away.map((id) => store.nameOf(id)).join(", ")}</p>
      )}
      <ol>
        {plan.pages.map((_, i) => (
          <li key={i}>
            {kiosk.value ? <i class={i === here ? "dot here" : "dot"} /> : (
              <button class="dot" aria-label={`Page ${i + 1} of ${plan.pages.length}`} aria-current={i === here ? "page" : undefined} onClick={() => go(i)}><i class={i === here ? "dot here" : "dot"} /></button>
            )}
          </li>
        ))}
      </ol>
      <p class="count">{here + 1} of {plan.pages.length}</p>
      {!kiosk.value && <button class="plain" aria-pressed={held.value} onClick={() => (held.value = !held.value)}>{held.value ? "Paused" : "Pause"}</button>}
    </nav>
  );
}
