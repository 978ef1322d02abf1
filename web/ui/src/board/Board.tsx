import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { Head } from "./Head";
import { Lane } from "./Lane";
import { DENSE_FROM, FEW } from "./sizes";

/** All lanes, who needs someone first. They change places slowly, and never under a hand. */
export function Board(): JSX.Element {
  const store = useStore();
  const order = store.order.value;
  const lanes = useRef<HTMLDivElement>(null);
  useSlowMoves(lanes, order);
  const touched = (): void => store.touched();
  return (
    <div class="board" onPointerDown={touched} onPointerMove={touched} onFocusIn={touched} onKeyDown={touched}>
      <h1 class="unseen">Board</h1>
      <Head />
      {store.ready.value && order.length === 0 && <NoUnits />}
      <div
        class="lanes"
        ref={lanes}
        data-dense={order.length >= DENSE_FROM ? "yes" : undefined}
        data-few={order.length <= FEW ? "yes" : undefined}
      >
        {order.map((id) => <Lane key={id} id={id} />)}
      </div>
      <Below lanes={lanes} />
    </div>
  );
}

/** Says how many lanes are out of sight, so that none is forgotten. */
function Below({ lanes }: { lanes: { current: HTMLDivElement | null } }): JSX.Element | null {
  const store = useStore();
  store.now.value; // looked at once a second
  const hidden = useSignal(0);
  const bar = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    const box = lanes.current;
    // Judged as if the bar were not there, or it would keep itself up.
    if (!box || box.scrollHeight <= box.clientHeight + (bar.current?.offsetHeight ?? 0) + 1) {
      hidden.value = 0;
      return;
    }
    const bottom = box.scrollTop + box.clientHeight + 12;
    hidden.value = [...box.querySelectorAll<HTMLElement>(":scope > .lane")].filter(
      (el) => el.offsetTop + el.offsetHeight > bottom,
    ).length;
  });
  if (hidden.value === 0) return null;
  const go = (): void => lanes.current?.scrollBy({ top: lanes.current.clientHeight * 0.8, behavior: "smooth" });
  return (
    <button class="below" ref={bar} onClick={go}>
      {hidden.value === 1 ? "1 more lane" : `${hidden.value} more lanes`} below ▾
    </button>
  );
}

function NoUnits(): JSX.Element {
  return (
    <section class="empty">
      <h2>No unit has been heard yet</h2>
      <p>
        A lane appears by itself with a unit's first message. Point each processor at this lab's broker, topic{" "}
        <code>wetside/v1/LAB/UNIT/…</code>, and switch it on.
      </p>
    </section>
  );
}

/** Lets each lane glide from where it was to where it now is. */
function useSlowMoves(lanes: { current: HTMLDivElement | null }, order: readonly string[]): void {
  const key = order.join();
  const was = useRef(new Map<string, number>());
  const lastKey = useRef(key);
  useLayoutEffect(() => {
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const moved = lastKey.current !== key;
    lastKey.current = key;
    const now = new Map<string, number>();
    for (const el of lanes.current?.children ?? []) {
      if (!(el instanceof HTMLElement)) continue;
      const id = el.dataset["unit"] ?? "";
      now.set(id, el.offsetTop);
      const before = was.current.get(id);
      if (!moved || calm || before === undefined || before === el.offsetTop || !el.animate) continue;
      el.animate([{ transform: `translateY(${before - el.offsetTop}px)` }, { transform: "none" }], {
        duration: 1400,
        easing: "cubic-bezier(.4,0,.2,1)",
      });
    }
    was.current = now;
  });
}
