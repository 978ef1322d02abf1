import { signal } from "@preact/signals";
import type { Store } from "../state/store";
import type { Container } from "../types";
import { containerName, deedDone } from "../words/container";
import type { ContainerDeed, ContainerEvent } from "./types";

/** The container whose sheet is open. */
export const openContainer = signal<{ unit: string; name: string } | null>(null);

/** What was just done, for as long as one press takes it back. */
export interface Done {
  words: string;
  path: string;
  until: number;
}

export const justDone = signal<Done | null>(null);

export const UNDO_MS = 10_000;

export const eventsPath = (unit: string, name: string): string =>
  `/units/${unit}/containers/${encodeURIComponent(name)}/events`;

/** Enters what was done to a container, and offers to take it back. */
export async function doDeed(
  store: Pick<Store, "act" | "nameOf">, unit: string, c: Pick<Container, "name" | "role">, what: ContainerDeed, litres?: number,
): Promise<ContainerEvent> {
  const path = eventsPath(unit, c.name);
  const event = await store.act<ContainerEvent>("POST", path, litres === undefined ? { what } : { what, litres });
  justDone.value = {
    words: `${store.nameOf(unit)}: ${containerName(c).toLowerCase()} ${deedDone(what)}`,
    path: `${path}/${encodeURIComponent(event.id)}`,
    until: Date.now() + UNDO_MS,
  };
  return event;
}
