// What the API takes and sends, and the frames of the live socket. The types
// are written from the documents that describe both (make types); here are
// only the names that the pages have for parts of them.
import type { Alert, Bath, Container, Person, PlanStep, Unit, UnitRun } from "./generated/api";

export type * from "./generated/api";
export type { Frame } from "./generated/live";

export type Link = Unit["link"];
export type Activity = Unit["activity"];
export type BathStanding = Bath["standing"];
export type UnitStanding = NonNullable<Unit["standing"]>;
export type Phase = UnitRun["phase"];
export type ContainerRole = Container["role"];
export type Priority = Alert["priority"];
export type AlertState = Alert["state"];
export type UserRole = Person["role"];
export type PlanState = PlanStep["state"];
