import { signal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";

/** What came of a scan, as it is told: the code large, what it was taken for, and where to go on. */
export interface Heard {
  ok: boolean;
  words: string;
  /** Told large in place of the code: a unit's name. */
  title?: string;
  /** Told under it in place of the words, where those name the code again. */
  large?: string;
  doors?: { words: string; href: string }[];
}

export type Taker = (code: string) => Heard | Promise<Heard>;

/** Pages that take scans wherever the focus is; the one that was opened last takes them. */
const pages: { take: Taker }[] = [];
/** Fields that take them only when they have the focus. */
const fields = new Map<Element, { take: Taker }>();

/** Takes the scans of the page while it is shown, if there is one to take them. */
export function usePageScan(take: Taker | null): void {
  const held = useRef({ take: take ?? noTaker });
  held.current.take = take ?? noTaker;
  const on = take !== null;
  // With the page as it is drawn: a scan a moment later must not reach the one that was there before.
  useLayoutEffect(() => {
    if (!on) return;
    const mine = held.current;
    pages.push(mine);
    return () => void pages.splice(pages.indexOf(mine), 1);
  }, [on]);
}

/** Takes the scans that come while this field has the focus. */
export function useFieldScan(field: { current: Element | null }, take: Taker): void {
  const held = useRef({ take });
  held.current.take = take;
  useLayoutEffect(() => {
    const el = field.current;
    if (!el) return;
    fields.set(el, held.current);
    return () => void fields.delete(el);
  }, []);
}

const noTaker: Taker = (code) => ({ ok: false, words: `${code} is not taken here` });

/** Who takes a scan that came while `at` had the focus; null: nobody here, it is looked up. */
export const takerOf = (at: Element | null): Taker | null => (at && fields.get(at)?.take) ?? pages.at(-1)?.take ?? null;

export interface Flash extends Heard {
  n: number;
  code: string;
  until: number;
}

/** The scan that is told large. */
export const flash = signal<Flash | null>(null);

const TAKEN_MS = 2500;
const DOORS_MS = 15_000;
const REFUSED_MS = 15_000;

let count = 0;

/** Counts a scan when it comes, so that an answer that is late does not hide a newer one. */
export const nextScan = (): number => ++count;

export function tell(n: number, code: string, h: Heard): void {
  const shown = flash.peek();
  if (shown && shown.n > n && h.ok) return;
  flash.value = { ...h, n, code, until: Date.now() + (!h.ok ? REFUSED_MS : h.doors?.length ? DOORS_MS : TAKEN_MS) };
}
