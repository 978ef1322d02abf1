// A scanner is a keyboard that nobody could type like: this tells the two apart
// by time alone. Pure: keys and their times in, scans out.

/** No more than so long between two keys of a scanner, Enter with them. */
export const GAP_MS = 50;
/** Nor so long on average: 350 words a minute, which no hand does. */
export const MEAN_MS = 35;
/** One character and Enter could be anybody's. */
const LEAST = 2;
/** A piece of so many keys that broke off so shortly before belongs to what follows. */
const PIECE = 3;
const BROKE_WITHIN_MS = 1000;
/** So many keys of a scanner, and then no Enter for so long. */
const ENDLESS = 4;
export const ENDLESS_AFTER_MS = 250;

export interface Key {
  /** As KeyboardEvent.key has it. */
  key: string;
  t: number;
  /** Held down, or pressed with Ctrl, Alt or Meta: no scanner's. */
  odd: boolean;
  /** What has the focus. */
  at?: unknown;
}

export type Told =
  | { is: "none" }
  /** A character was taken in; `n` of this burst so far. */
  | { is: "key"; n: number }
  | { is: "scan"; code: string }
  /** Keys went missing within a scan: what was heard is no code. */
  | { is: "broken"; code: string };

const quiet = new Set(["Shift", "CapsLock", "AltGraph"]);
const none: Told = { is: "none" };

/** Follows the keys of a page. */
export class Burst {
  #chars = "";
  #from = 0;
  #last = 0;
  /** A piece of a scan that broke off just before. */
  #piece = "";
  #at: unknown;

  key(k: Key): Told {
    if (quiet.has(k.key)) return none;
    if (k.odd) return this.#forget();
    if (k.key === "Enter") return this.#end(k.t);
    if (k.key.length !== 1) return this.#forget();
    const gap = k.t - this.#last;
    if (this.#chars === "" || gap > GAP_MS || gap < 0) {
      const broke = this.#chars.length >= PIECE && gap >= 0 && gap <= BROKE_WITHIN_MS && k.at === this.#at;
      this.#piece = broke ? this.#piece + this.#chars : "";
      this.#chars = "";
      this.#from = k.t;
    }
    this.#chars += k.key;
    this.#last = k.t;
    this.#at = k.at;
    return { is: "key", n: this.#chars.length };
  }

  /** What a scanner typed without an Enter behind it, once it is clear that none comes; "" where nothing is. */
  endless(now: number): string {
    if (this.#chars.length < ENDLESS || now - this.#last < ENDLESS_AFTER_MS || !this.#fast(this.#last, this.#chars.length - 1)) return "";
    const code = this.#piece + this.#chars;
    this.#forget();
    return code;
  }

  #end(t: number): Told {
    const code = this.#chars;
    const piece = this.#piece;
    const scanned = code.length >= LEAST && t - this.#last <= GAP_MS && this.#fast(t, code.length);
    this.#forget();
    if (!scanned) return none;
    return piece ? { is: "broken", code: `${piece}…${code}` } : { is: "scan", code };
  }

  #fast = (until: number, gaps: number): boolean => (until - this.#from) / Math.max(1, gaps) <= MEAN_MS;

  #forget(): Told {
    this.#chars = "";
    this.#piece = "";
    return none;
  }
}
