// Loading, by the names that the pages have for what the API sends.
import type { ContainerEventView } from "../types";

export type { ContainerEventView as ContainerEvent, ContainerNeed as PlanContainer, LoadAnswer, LoadPlan, LoadReason } from "../types";

export type ContainerDeed = ContainerEventView["what"];
