import type { JSX } from "preact";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { Head } from "./Head";
import { Lane } from "./Lane";
import { NextLoadsProvider, useNextLoads } from "./nextload";
import { PageTurn } from "./PageTurn";
import { letters } from "./segments";
import { MINUTE } from "../words/time";
import { useWall, type Wall } from "./useWall";
import { Watch } from "./Watch";

/** All lanes, who needs someone first. They change places slowly, and never under a hand. */
export function Board(): JSX.Element {
  const store = useStore();
  const touched = (): void => store.touched();
  const press = (): void => store.touched(true);
  const lift = (): void => store.touched(false);
  return (
    <div
      class="board"
      onPointerDown={press}
      onPointerUp={lift}
      onPointerCancel={lift}
      onPointerLeave={lift}
      onPointerMove={touched}
      onFocusIn={touched}
      onKeyDown={touched}
    >
      <h1 class="unseen">Board</h1>
      <Head />
      <Watch />
      {store.ready.value && store.order.value.length === 0 && <NoUnits />}
      <Lanes />
    </div>
  );
}

function Lanes(): JSX.Element {
  const store = useStore();
  const lanes = useRef<HTMLDivElement>(null);
  const wall = useWall(store, lanes);
  const shown = wall.plan.pages[Math.min(wall.page.value, wall.plan.pages.length - 1)] ?? [];
  const forms = [...new Set(shown.map((p) => p.form))];
  const next = useNextLoads(MINUTE);
  useSlowMoves(lanes, shown.map((p) => p.id));
  usePageKeys(wall);
  return (
    <div class="wall">
      <div class="lanes" ref={lanes} data-form={forms.length === 1 ? forms[0] : "mixed"} style={{ "--k": wall.scale, "--taller": `${wall.taller}px`, "--name": nameRoom(store.order.value.map((id) => store.nameOf(id))) }}>
        <NextLoadsProvider value={next}>
          {shown.map((p) => <Lane key={p.id} id={p.id} form={p.form} scale={wall.scale} />)}
        </NextLoadsProvider>
      </div>
      <PageTurn wall={wall} />
    </div>
  );
}

/** The letters of a name and the least and the most that the column of names takes, in the unit of the board. */
const NAME_LETTER = 29;
const NAME_LEAST = 230;
const NAME_MOST = 420;

/** How wide the column of names is, as the longest wants it; what is longer still wraps. */
const nameRoom = (names: readonly string[]): number => Math.round(Math.min(NAME_MOST, Math.max(NAME_LEAST, ...names.map((n) => letters(n) * NAME_LETTER))));

/** Page up and page down turn the pages of a wall that has several. */
function usePageKeys(wall: Wall): void {
  const now = useRef(wall);
  now.current = wall;
  useEffect(() => {
    const press = (e: KeyboardEvent): void => {
      const n = now.current.plan.pages.length;
      const step = e.key === "PageDown" ? 1 : e.key === "PageUp" ? -1 : 0;
      if (n < 2 || step === 0) return;
      e.preventDefault();
      now.current.page.value = (now.current.page.peek() + step + n) % n;
    };
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  }, []);
}

function NoUnits(): JSX.Element {
  return (
    <section class="empty">
      <h2>No data received from any unit</h2>
      <p>
        A lane appears by itself with a unit's first message. Point each processor at this lab's broker, topic{" "}
        <code>wetside/v1/LAB/UNIT/…</code>, and switch it on.
      </p>
    </section>
  );
}

/** Lets each lane glide from where it was to where it now is, when they change places; a page that turns just stands there. */
function useSlowMoves(lanes: { current: HTMLDivElement | null }, shown: readonly string[]): void {
  const was = useRef(new Map<string, number>());
  const last = useRef<readonly string[]>(shown);
  useLayoutEffect(() => {
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const common = (list: readonly string[], other: readonly string[]): string => list.filter((id) => other.includes(id)).join();
    const moved = common(last.current, shown) !== common(shown, last.current);
    last.current = shown;
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
