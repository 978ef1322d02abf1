import { useSignal, type Signal } from "@preact/signals";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import type { Store } from "../state/store";
import { kiosk } from "../state/kiosk";
import { narrow } from "../state/prefs";
import { quiet } from "../state/order";
import { sortOut } from "./Alerts";
import { planDesk, planWall, turn, type Form, type LaneRoom, type WallPlan } from "./wall";

// Heights in the unit of the board, a 1920th of its width, as lane.css makes
// them. What alerts need is measured once they are drawn; until then it is guessed.
const HEIGHTS: Record<Form, number> = { tall: 168, full: 104, slim: 50 };
const LARGE: Record<Form, number> = { tall: 96, full: 96, slim: 82 };
const LINE = 34;
const ADVICE = 86;
const NEWCOMER = 60;
const BAR = 52;
/** From this width on a screen hangs on a wall, and pages turn; under it someone sits before it. */
const WALL_WIDTH = 1600;
/** Lanes are drawn larger by up to so much where there is room, then their strips of film get taller, in the unit of the board. */
const MOST = 1.05;
const TALLER = 110;

export interface Wall {
  plan: WallPlan;
  page: Signal<number>;
  held: Signal<boolean>;
  /** How much larger than its least a lane is drawn. */
  scale: number;
  /** By how many pixels a strip of film is taller than its least. */
  taller: number;
}

/** Lays the lanes out for the room there is, and turns the pages. On a phone all lanes stand under each other. */
export function useWall(store: Store, box: { current: HTMLDivElement | null }): Wall {
  const size = useSignal({ width: innerWidth, height: 0 });
  const measured = useRef(new Map<string, number>());
  const version = useSignal(0);
  const bar = useSignal(0);
  const page = useSignal(0);
  const held = useSignal(false);
  const turnedAt = useRef(Date.now());

  useLayoutEffect(() => {
    const el = box.current;
    if (!el) return;
    const look = (): void => {
      const next = { width: innerWidth, height: Math.floor((el.parentElement ?? el).getBoundingClientRect().height) };
      if (next.width !== size.peek().width) measured.current.clear();
      if (next.width !== size.peek().width || Math.abs(next.height - size.peek().height) > 1) size.value = next;
    };
    look();
    const seen = new ResizeObserver(look);
    seen.observe(el.parentElement ?? el);
    return () => seen.disconnect();
  }, []);

  const u = Math.max(size.value.width / 1920, 0.6);
  version.value;
  const rooms = roomsOf(store, measured.current, u);
  const plan = narrow.value || size.value.height === 0 ? allOnOne(rooms)
    : kiosk.value || size.value.width >= WALL_WIDTH ? planWall(rooms, size.value.height, Math.max(BAR * u, bar.value)) : planDesk(rooms, size.value.height);
  const shown = plan.pages[Math.min(page.value, plan.pages.length - 1)] ?? [];
  const form = shown[0]?.form ?? "full";
  const need = rooms.filter((r) => shown.some((p) => p.id === r.id)).reduce((s, r) => s + r[form], 0);
  const even = shown.every((p) => p.form === form) && plan.pages.length === 1 && form !== "slim";
  const scale = even && need > 0 ? Math.round(Math.min(MOST, Math.max(1, size.value.height / need)) * 100) / 100 : 1;
  const spare = even ? (size.value.height - need * scale) / Math.max(1, shown.length) : 0;
  const taller = Math.round(Math.min(TALLER * u, Math.max(0, spare * 0.7)));

  // A lane may grow by itself, as when nothing is heard for a while: what it says then must have its room too.
  const grown = useRef<ResizeObserver | null>(null);
  const shape = useRef({ scale, taller });
  shape.current = { scale, taller };
  useEffect(() => {
    const seen = new ResizeObserver(() => {
      if (!narrow.peek() && measure(box.current, store, measured.current, shape.current.scale, shape.current.taller)) version.value++;
    });
    grown.current = seen;
    for (const el of box.current?.querySelectorAll(":scope > .lane > .in") ?? []) seen.observe(el);
    return () => seen.disconnect();
  }, []);
  useLayoutEffect(() => {
    if (narrow.peek()) return;
    for (const el of box.current?.querySelectorAll(":scope > .lane > .in") ?? []) grown.current?.observe(el);
    // Names of lanes on other pages may take two lines: the bar does not shrink again, or pages would jump.
    const high = box.current?.parentElement?.querySelector<HTMLElement>(":scope > .turn")?.offsetHeight ?? 0;
    if (high > bar.peek() + 1) bar.value = high;
    if (measure(box.current, store, measured.current, scale, taller)) version.value++;
  });
  useEffect(() => {
    const each = (now: number): void => {
      const touched = Math.max(store.lastTouch.peek(), holdsFocus(box.current) ? now : 0);
      const to = turn(page.peek(), planPages.current, turnedAt.current, touched, held.peek(), now);
      if (to === null) return;
      turnedAt.current = now;
      page.value = to;
    };
    store.eachSecond.add(each);
    return () => void store.eachSecond.delete(each);
  }, []);
  const planPages = useRef(1);
  planPages.current = plan.pages.length;
  return { plan, page, held, scale, taller };
}

/** Somebody works in it with the keyboard. */
const holdsFocus = (el: HTMLElement | null): boolean => el !== null && el.contains(document.activeElement);

const allOnOne = (rooms: readonly LaneRoom[]): WallPlan => ({ pages: [rooms.map((r) => ({ id: r.id, form: "full" }))], pinned: 0 });

/** What a lane's height hangs on besides its form. */
function signature(store: Store, id: string): string {
  const unit = store.unit(id)?.peek().unit;
  const now = store.now.peek();
  const alerts = store.alertsOf(id).value;
  return `${alerts.map((a) => `${a.id}${a.occurrence}${quiet(a, now) ? "q" : ""}${a.message.length}.${a.response.length}`).join()}|${unit?.outlook ? "o" : ""}${unit?.film?.length ? "f" : ""}${unit?.standing === "new" ? "n" : ""}`;
}

function roomsOf(store: Store, measured: ReadonlyMap<string, number>, u: number): LaneRoom[] {
  const kinds = store.kinds.value;
  return store.order.value.map((id) => {
    const kind = kinds.get(id) ?? "calm";
    const sig = signature(store, id);
    const h = (form: Form): number => measured.get(`${id}|${form}|${sig}`) ?? guess(store, id, form) * u;
    return { id, needs: kind !== "calm", urgent: kind === "urgent", tall: h("tall"), full: h("full"), slim: h("slim") };
  });
}

function guess(store: Store, id: string, form: Form): number {
  const unit = store.unit(id)?.peek().unit;
  const { large, small } = sortOut(store.alertsOf(id).peek(), store.now.peek());
  return HEIGHTS[form] + large.length * LARGE[form] + small.length * LINE + (unit?.outlook ? ADVICE : 0) + (unit?.film?.length ? ADVICE : 0) + (unit?.standing === "new" ? NEWCOMER : 0);
}

/** Keeps how high each lane really is in its form; true where that was not known or is different. */
function measure(box: HTMLElement | null, store: Store, into: Map<string, number>, scale: number, taller: number): boolean {
  let changed = false;
  for (const el of box?.querySelectorAll<HTMLElement>(":scope > .lane") ?? []) {
    const inside = el.firstElementChild as HTMLElement | null;
    const form = (["tall", "full", "slim"] as const).find((f) => el.classList.contains(f));
    const id = el.dataset["unit"] ?? "";
    if (!inside || !form || inside.querySelector(".fold")) continue;
    const key = `${id}|${form}|${signature(store, id)}`;
    // To the fraction: six roundings down are a lane's lowest line out of sight.
    const h = (inside.getBoundingClientRect().height - (inside.querySelector(".film") ? taller : 0)) / scale + 1;
    const was = into.get(key);
    if (was !== undefined && Math.abs(was - h) < 3) continue;
    // What was measured under other alerts is of no use any more.
    if (was === undefined) for (const k of into.keys()) if (k.startsWith(`${id}|${form}|`)) into.delete(k);
    into.set(key, was === undefined ? h : Math.max(was, h));
    changed ||= was === undefined || h > was;
  }
  return changed;
}
