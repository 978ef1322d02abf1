import type { ContainerDeed } from "../load/types";
import type { Container } from "../types";
import { stepWords } from "./steps";

const roles: Record<Container["role"], string> = { waste: "Waste", wash: "Wash water", recovery: "Silver recovery", bottle: "Bottle" };

/** "Waste", "Wash water", "Color developer bottle": the container for people. */
export function containerName(c: Pick<Container, "name" | "role">): string {
  if (c.role === "bottle") return `${stepWords(c.name.split("/").at(-1) ?? c.name).full} bottle`;
  if (c.name === c.role) return roles[c.role];
  // "fixer-recovery" says it already; "blue-drum" does not.
  const own = c.name.replaceAll(/[-_/]/g, " ");
  return own.includes(c.role) ? own.charAt(0).toUpperCase() + own.slice(1) : `${roles[c.role]}, ${own}`;
}

export const takesIn = (role: Container["role"]): boolean => role === "waste" || role === "recovery";

/** What people do to a container of a role, the usual first. */
export function deedsFor(role: Container["role"]): [deed: ContainerDeed, words: string][] {
  if (takesIn(role)) return [["emptied", "Emptied"], ["swapped", "Swapped for an empty one"]];
  return role === "wash" ? [["topped-up", "Filled to the top"], ["swapped", "Swapped for a full one"]] : [["swapped", "Swapped for a full one"], ["topped-up", "Filled to the top"]];
}

const done: Record<ContainerDeed, string> = { emptied: "emptied", "topped-up": "topped up", swapped: "swapped", set: "level set" };

export const deedDone = (d: ContainerDeed): string => done[d] ?? d;

/** What to mind with a container, said where the hands are. */
export function containerCautions(role: Container["role"]): string[] {
  const gloves = "Gloves and goggles. Electricity and water apart: lift hoses away from plugs.";
  switch (role) {
    case "waste":
      return [gloves, "Never mix waste streams: each container goes where its label says, and nothing else goes in with it.", "What may go down a drain is for local codes and licensed practice to say."];
    case "recovery":
      return [gloves, "Used fixer holds silver: it goes to recovery, never down a drain and never in with other waste."];
    case "wash":
      return [gloves, "Warm water can be hot enough to hurt."];
    case "bottle":
      return [gloves, "Right bottle, right hose: read the label aloud. Photographic bleach is not laundry bleach, and neither goes near the other."];
  }
}
