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
  /** Looks whether the socket still lives, and mends it now if not. After a sleep, slept: what was silent over it is taken for dead. */
  check(slept?: boolean): void;
  close(): void;
}

export type Method = "POST" | "PUT" | "PATCH" | "DELETE";

/** Where the pages get what they show: the server, or a fixture. */
export interface Source {
  listen(on: Listener): Connection;
  get<T>(path: string): Promise<T>;
  send<T>(method: Method, path: string, body?: unknown): Promise<T>;
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
