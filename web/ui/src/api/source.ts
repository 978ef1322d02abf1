import type { Frame } from "../types";

/** What a connection tells whoever listens to it. */
export interface Listener {
  frame(f: Frame): void;
  /** The socket is up; a snapshot follows. */
  up(): void;
  /** The socket is gone; it is being tried again. */
  down(): void;
}

export interface Connection {
  /** Looks whether the socket still lives, as after a sleep, and mends it now if not. */
  check(): void;
  close(): void;
}

/** Where the pages get what they show: the server, or a fixture. */
export interface Source {
  listen(on: Listener): Connection;
  get<T>(path: string): Promise<T>;
  send<T>(method: "POST" | "PATCH" | "DELETE", path: string, body?: unknown): Promise<T>;
}

/** An answer of the API that is a refusal, by its problem details. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    message: string,
  ) {
    super(message);
    this.name = "Refusal";
  }
}
