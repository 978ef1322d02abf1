import { signal } from "@preact/signals";
import type { Source } from "../api/source";
import { Refusal } from "../api/source";
import type { DutyStatus } from "../types";

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
