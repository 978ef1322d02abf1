// How lanes share the height of a wall: pure arithmetic, no drawing.

/** tall: few lanes, three lines of words. full: two lines. slim: one line, for what needs nobody. */
export type Form = "tall" | "full" | "slim";

export interface LaneRoom {
  id: string;
  /** It needs someone, with an alert or by itself. */
  needs: boolean;
  urgent: boolean;
  /** Heights in the forms, in the same unit as the room. */
  tall: number;
  full: number;
  slim: number;
}

export interface Placed {
  id: string;
  form: Form;
}

export interface WallPlan {
  pages: Placed[][];
  /** So many lanes at the top of each page are the same on all: they need someone. */
  pinned: number;
}

/** Pins leave room for so many slim lanes under them, or they are no pins. */
const LEAST_UNDER = 2;
/** Up to so many pages a lane that needs someone keeps its full form. */
const FEW_PAGES = 2;

/**
 * Shares out the height. All at once if they fit, in the roomiest form that
 * does; then the calm ones slim; then all slim; then pages: who needs someone stands on each
 * of them, the calm ones turn below. Only where even the slim forms of those who
 * need someone are too many do they turn as well, urgent ones first.
 * `bar` is what the bar of the pages takes where there are several.
 */
export function planWall(lanes: readonly LaneRoom[], height: number, bar: number): WallPlan {
  const one = (form: (l: LaneRoom) => Form): WallPlan | null => {
    const placed = lanes.map((l) => ({ id: l.id, form: form(l) }));
    return sum(lanes, form) <= height ? { pages: [placed], pinned: 0 } : null;
  };
  const whole =
    one(() => "tall") ?? one(() => "full") ?? one((l) => (l.needs ? "full" : "slim"));
  if (whole) return whole;
  const slimmed = one(() => "slim");
  if (slimmed) return { pages: [promote(lanes, height)], pinned: 0 };
  const full = pinnedPages(lanes, height - bar, "full");
  if (full && full.pages.length <= FEW_PAGES) return full;
  const slim = pinnedPages(lanes, height - bar, "slim");
  if (slim && (!full || slim.pages.length < full.pages.length)) return slim;
  return full ?? turning(lanes, height - bar);
}

/** On a desk nothing turns by itself: what does not fit is scrolled to. */
export function planDesk(lanes: readonly LaneRoom[], height: number): WallPlan {
  const wall = planWall(lanes, height, 0);
  if (wall.pages.length < 2) return wall;
  return { pages: [lanes.map((l) => ({ id: l.id, form: l.needs ? "full" : "slim" }))], pinned: 0 };
}

/** All slim, and then fuller from the top while there is room: who needs someone most first. */
function promote(lanes: readonly LaneRoom[], height: number): Placed[] {
  let left = height - sum(lanes, () => "slim");
  let ended = false;
  return lanes.map((l) => {
    const more = l.full - l.slim;
    ended ||= !l.needs || more > left;
    if (!ended) left -= more;
    return { id: l.id, form: ended ? "slim" : "full" };
  });
}

function sum(lanes: readonly LaneRoom[], form: (l: LaneRoom) => Form): number {
  return lanes.reduce((s, l) => s + l[form(l)], 0);
}

function pinnedPages(lanes: readonly LaneRoom[], height: number, form: Form): WallPlan | null {
  const pins = lanes.filter((l) => l.needs);
  const calm = lanes.filter((l) => !l.needs);
  const top = sum(pins, () => form);
  const least = [...calm].sort((a, b) => b.slim - a.slim).slice(0, LEAST_UNDER).reduce((s, l) => s + l.slim, 0);
  if (top + least > height) return null;
  const placed = pins.map((l): Placed => ({ id: l.id, form }));
  const pages = fill(calm, height - top).map((page) => [...placed, ...page]);
  return { pages: pages.length > 0 ? pages : [placed], pinned: pins.length };
}

/** More need someone than one page holds: all turn, urgent ones on every page while they take under half of it. */
function turning(lanes: readonly LaneRoom[], height: number): WallPlan {
  const urgent = lanes.filter((l) => l.urgent);
  const top = sum(urgent, () => "slim");
  const rest = lanes.filter((l) => !l.urgent);
  const tallest = Math.max(0, ...rest.map((l) => l.slim));
  if (urgent.length > 0 && top <= height / 2 && top + tallest <= height) {
    const placed = urgent.map((l): Placed => ({ id: l.id, form: "slim" }));
    return { pages: fill(rest, height - top).map((p) => [...placed, ...p]), pinned: urgent.length };
  }
  return { pages: fill([...urgent, ...rest], height), pinned: 0 };
}

/** Fills pages of a height, each about as full as the others where nothing is pressing. */
function fill(lanes: readonly LaneRoom[], height: number): Placed[][] {
  const greedy = cut(lanes, height);
  if (greedy.length < 2) return greedy;
  // The same number of pages, but no last page with a lane or two on it.
  const even = cut(lanes, Math.max(...lanes.map((l) => l.slim), Math.min(height, (sum(lanes, () => "slim") / greedy.length) * 1.02 + Math.max(...lanes.map((l) => l.slim)))));
  return even.length === greedy.length ? even : greedy;
}

function cut(lanes: readonly LaneRoom[], height: number): Placed[][] {
  const pages: Placed[][] = [];
  let page: Placed[] = [];
  let used = 0;
  for (const l of lanes) {
    if (page.length > 0 && used + l.slim > height) {
      pages.push(page);
      page = [];
      used = 0;
    }
    page.push({ id: l.id, form: "slim" });
    used += l.slim;
  }
  if (page.length > 0) pages.push(page);
  return pages;
}

export const TURN_EVERY_MS = 12_000;
/** A hand on the board stops the turning for so long. */
export const HOLD_AFTER_TOUCH_MS = 30_000;

/** Which page follows, and when it is time: null while it is not. */
export function turn(page: number, pages: number, turnedAt: number, touchedAt: number, held: boolean, now: number): number | null {
  if (pages < 2) return page === 0 ? null : 0;
  if (page >= pages) return 0;
  if (held || now - touchedAt < HOLD_AFTER_TOUCH_MS) return null;
  return now - turnedAt >= TURN_EVERY_MS || now < turnedAt ? (page + 1) % pages : null;
}
