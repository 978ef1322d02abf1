import { parseFrame } from "../state/live";
import type { Connection, Listener } from "./source";

/** The server says something at least every 5 s; three times that is dead. */
export const DEAD_AFTER_MS = 15_000;
/** After a sleep a socket that was silent for longer than a beat is not waited for. */
const SILENT_OVER_SLEEP_MS = 7_000;
const FIRST_RETRY_MS = 500;
const LAST_RETRY_MS = 10_000;

/** How long to wait before try number n (from 0): doubling, a fifth of it chance. */
export function retryDelay(n: number, chance: number): number {
  const full = Math.min(LAST_RETRY_MS, FIRST_RETRY_MS * 2 ** n);
  return full * (0.8 + 0.2 * chance);
}

export interface SocketParts {
  open(url: string): WebSocket;
  now(): number;
  chance(): number;
}

const real: SocketParts = { open: (u) => new WebSocket(u), now: () => Date.now(), chance: () => Math.random() };

/** Keeps one socket to url up, tries again when it falls, notices a silent one. */
export class LiveSocket implements Connection {
  #socket: WebSocket | null = null;
  #retry: ReturnType<typeof setTimeout> | undefined;
  #watch: ReturnType<typeof setInterval>;
  #tries = 0;
  #lastFrame = 0;
  #closed = false;

  constructor(
    private readonly url: string,
    private readonly on: Listener,
    private readonly parts: SocketParts = real,
  ) {
    this.#watch = setInterval(() => this.check(), 2000);
    this.#open();
  }

  check(slept = false): void {
    if (this.#closed) return;
    if (this.#socket === null) {
      if (slept) return this.#again(0);
      // Waiting for the next try: a machine that woke up tries at once.
      if (this.parts.now() - this.#lastFrame > LAST_RETRY_MS * 2 && this.#tries > 3) this.#again(0);
      return;
    }
    const silent = this.parts.now() - this.#lastFrame;
    // Less than nothing: the clock was set back, and no age can be told by it.
    if (silent >= 0 && silent <= (slept ? SILENT_OVER_SLEEP_MS : DEAD_AFTER_MS)) return;
    this.#fallen(this.#socket);
    if (slept || silent < 0) this.#again(0);
  }

  close(): void {
    this.#closed = true;
    clearTimeout(this.#retry);
    clearInterval(this.#watch);
    this.#socket?.close();
    this.#socket = null;
  }

  #open(): void {
    if (this.#closed) return;
    const socket = this.parts.open(this.url);
    this.#socket = socket;
    this.#lastFrame = this.parts.now();
    socket.onopen = () => {
      if (this.#socket === socket) this.on.up();
    };
    socket.onmessage = (m) => {
      if (this.#socket !== socket) return;
      this.#lastFrame = this.parts.now();
      const f = parseFrame(String(m.data));
      if (f === null) return;
      if (f.type === "snapshot") this.#tries = 0;
      this.on.frame(f);
    };
    socket.onclose = () => this.#fallen(socket);
  }

  #fallen(socket: WebSocket): void {
    if (this.#socket !== socket) return;
    this.#socket = null;
    socket.onopen = socket.onmessage = socket.onclose = null;
    socket.close();
    this.on.down();
    this.#again(retryDelay(this.#tries++, this.parts.chance()));
  }

  #again(delay: number): void {
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => this.#open(), delay);
    if (delay === 0) this.#tries = 1;
  }
}
