import type { JSX } from "preact";
import { useStore } from "../context";
import { quiet } from "../state/order";
import type { Alert } from "../types";
import { AlertBar } from "./AlertBar";
import { AlertLine } from "./AlertLine";

/** So many alerts of a lane are large; the others stand under them in a line each. None is left out. */
const LARGE_AT_ONCE = 2;

interface Props {
  list: readonly Alert[];
  advised?: boolean;
}

/** The alerts of a lane: what goes on and nobody has seen large, the rest in a line. */
export function Alerts({ list, advised = false }: Props): JSX.Element | null {
  const now = useStore().now.peek();
  if (list.length === 0) return null;
  const { large, small } = sortOut(list, now);
  return (
    <div class="alerts">
      {large.map((a) => <AlertBar key={a.id} alert={a} advised={advised && filmRules.has(a.rule)} />)}
      {small.map((a) => <AlertLine key={a.id} alert={a} />)}
    </div>
  );
}

/** Which alerts are large and which in a line. */
export function sortOut(list: readonly Alert[], now: number): { large: Alert[]; small: Alert[] } {
  const loud = list.filter((a) => !quiet(a, now) && !coveredBy(a, list));
  const large = loud.slice(0, LARGE_AT_ONCE);
  return { large, small: list.filter((a) => !large.includes(a)) };
}

/** Alerts whose response the advice of the lane gives more exactly, with the time. */
const filmRules = new Set(["bath-temperature", "power-lost", "power-resumed", "unit-silent", "battery-low", "rotation-stopped"]);

/** A container that will not take this run is also nearly full: one large alert says both. */
function coveredBy(a: Alert, list: readonly Alert[]): boolean {
  return a.rule === "waste-nearly-full" && a.state === "unacknowledged" &&
    list.some((b) => b.rule === "waste-will-not-fit" && b.subject === a.subject && b.state === "unacknowledged");
}
