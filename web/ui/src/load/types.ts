import type { Container, Load } from "../types";

/** What the server says of a load: POST and GET /units/{lab}/{unit}/load. */
export interface LoadAnswer {
  unit: string;
  verdict: "go" | "stop";
  reasons: LoadReason[] | null;
  load: Load | null;
  entry?: string;
  plan: LoadPlan | null;
}

export interface LoadReason {
  code: string;
  text: string;
  roll?: string;
  /** It stops; the others only tell. */
  stops?: boolean;
  /** A question about a roll: it stops until one of these is answered. */
  of?: string;
  ask?: { answer: string; text: string }[] | null;
}

export interface LoadPlan {
  process: string;
  process_name: string;
  process_known: boolean;
  containers: PlanContainer[] | null;
  heater: { standing: "ready" | "heating" | "unknown"; c: number | null; aim_c: number | null } | null;
  running: boolean;
}

export interface PlanContainer {
  name: string;
  role: Container["role"];
  needs_l: number | null;
  has_l: number | null;
  standing: "enough" | "short" | "unknown";
}

/** What a person did to a container. */
export interface ContainerEvent {
  id: string;
  container: string;
  what: ContainerDeed;
  litres: number | null;
  note?: string;
  at: string;
  entered: string;
  by: string;
  taken_back: { at: string; by: string } | null;
}

export type ContainerDeed = "emptied" | "topped-up" | "swapped" | "set";
