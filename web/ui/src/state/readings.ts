import { signal, type Signal } from "@preact/signals";
import { addReading, type Reading } from "../board/trace";
import type { TraceList, Unit } from "../types";
import { ms } from "../words/time";

interface Book {
  run: string;
  list: Reading[];
  /** Counts up when list has grown: lists are appended to, not copied. */
  version: Signal<number>;
  loaded: boolean;
}

type Fetch = (path: string) => Promise<TraceList>;

const AT_ONCE = 3;

/** The bath readings of each unit's run: fetched once for a run, then appended from what comes live. */
export class Readings {
  #books = new Map<string, Book>();
  #waiting: (() => Promise<void>)[] = [];
  #busy = 0;

  constructor(private readonly fetch: Fetch) {}

  /** The book of a unit; read `version` to be told when it grows. */
  book(unit: string): { list: readonly Reading[]; version: Signal<number> } {
    return this.#book(unit);
  }

  /** Takes what a unit frame says of the bath. */
  take(unit: Unit, now: number): void {
    const b = this.#book(unit.id);
    const run = unit.run?.id ?? "";
    if (b.run !== run) {
      b.run = run;
      b.list = [];
      b.loaded = false;
      b.version.value++;
    }
    if (unit.run === null) return;
    if (!b.loaded) {
      b.loaded = true;
      this.#later(() => this.#load(unit.id, run, unit.run?.started_at ?? "", now));
    }
    const t = ms(unit.bath.at);
    if (t === null || unit.bath.c === null) return;
    const before = b.list.at(-1)?.t;
    addReading(b.list, { t, c: unit.bath.c });
    if (b.list.at(-1)?.t !== before) b.version.value++;
  }

  /** After a lost connection what is missing is fetched again. */
  forgetLoads(): void {
    for (const b of this.#books.values()) b.loaded = false;
  }

  async #load(unit: string, run: string, from: string, now: number): Promise<void> {
    const q = new URLSearchParams({ from, to: new Date(now).toISOString() });
    const answer = await this.fetch(`/units/${unit}/trace?${q}`);
    const b = this.#book(unit);
    if (b.run !== run) return;
    const list: Reading[] = [];
    for (const p of answer.points) {
      const t = ms(p.at);
      if (t !== null && typeof p.bath_c === "number") addReading(list, { t, c: p.bath_c });
    }
    for (const r of b.list) addReading(list, r);
    b.list = list;
    b.version.value++;
  }

  #later(job: () => Promise<void>): void {
    this.#waiting.push(job);
    this.#next();
  }

  #next(): void {
    while (this.#busy < AT_ONCE) {
      const job = this.#waiting.shift();
      if (!job) return;
      this.#busy++;
      // A trace that cannot be had leaves the live part of the line; the next connection asks again.
      void job()
        .catch(() => undefined)
        .finally(() => {
          this.#busy--;
          this.#next();
        });
    }
  }

  #book(unit: string): Book {
    let b = this.#books.get(unit);
    if (!b) {
      b = { run: "", list: [], version: signal(0), loaded: false };
      this.#books.set(unit, b);
    }
    return b;
  }
}
