import type { JSX } from "preact";
import type { Priority } from "../types";

const shapes: Record<Priority, string> = {
  urgent: "M12 2 23 21.500H1Z",
  high: "M12 1 23 12 12 23 1 12Z",
  low: "M12 3a9 9 0 1 0 .01 0Z",
};

/** A shape for each priority, so that no one has to tell colours apart. */
export function Mark({ priority, hollow = false }: { priority: Priority; hollow?: boolean }): JSX.Element {
  return (
    <svg class={`shape ${priority}${hollow ? " hollow" : ""}`} viewBox="0 0 24 24" aria-hidden="true">
      <path d={shapes[priority]} />
    </svg>
  );
}
