import { signal } from "@preact/signals";
import type { Source } from "../api/source";
import { Refusal } from "../api/source";

export interface DutyFault {
  code: string;
  text: string;
  since: string | null;
}

/** Somebody who is on call now (`from` is null) or in the next 12 hours, and whether a page would reach them. */
export interface OnCall {
  name: string;
  /** 1: called first. */
  place: number;
  from: string | null;
  ways: string[] | null;
  reachable: boolean;
  /** What keeps pages from them; "" where nothing does. */
  why: string;
}

/** Whether an alert would reach a person now (internal/lab/dutyview.go). */
export interface DutyStatus {
  faults: DutyFault[] | null;
  on: string[] | null;
  on_call: OnCall[] | null;
  /** Whether this wetside can send by push and by mail at all, and what it wants where it cannot. */
  push?: { available: boolean; why: string };
  mail?: { available: boolean; why: string };
  dark: { person: string; until: string }[] | null;
  waiting: number;
  oldest_waiting_s: number | null;
}

const EVERY_MS = 15_000;

/** Follows the state of paging: asked each 15 s, and when an alert came or somebody did something. */
export class Duty {
  readonly status = signal<DutyStatus | null>(null);
  #asked = -Infinity;
  #busy = false;

  constructor(private readonly source: Pick<Source, "get">) {}

  /** Once a second; asks when it is time. */
  each(now: number): void {
    if (now - this.#asked >= EVERY_MS || now < this.#asked) void this.ask(now);
  }

  /** What was known may have changed: ask with the next second. */
  stale(): void {
    this.#asked = Math.min(this.#asked, Date.now() - EVERY_MS + 1000);
  }

  async ask(now = Date.now()): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    this.#asked = now;
    try {
      const s = await this.source.get<DutyStatus>("/duty/status");
      if (JSON.stringify(s) !== JSON.stringify(this.status.peek())) this.status.value = s;
    } catch (e) {
      // A server without duty says so; one out of reach is told by the banner.
      if (e instanceof Refusal && e.status === 404) this.status.value = null;
    } finally {
      this.#busy = false;
    }
  }
}
