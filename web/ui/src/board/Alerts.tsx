import type { JSX } from "preact";
import { useStore } from "../context";
import { quiet } from "../state/order";
import type { Alert } from "../types";
import { AlertBar } from "./AlertBar";
import { AlertLine } from "./AlertLine";
import { Cleared } from "./Cleared";
import { clearedOf } from "./cleared";

/** So many alerts of a lane are large; the others stand under them in a line each. None is left out. */
const LARGE_AT_ONCE = 2;

interface Props {
  unit: string;
  list: readonly Alert[];
  advised?: boolean;
  /** What has cleared stands in the lane's own row. */
  slim?: boolean;
}

/** The alerts of a lane: what goes on and nobody has seen large, the rest in a line. */
export function Alerts({ unit, list, advised = false, slim = false }: Props): JSX.Element | null {
  const now = useStore().now.peek();
  const { large, small, cleared } = sortOut(list, now);
  if (large.length + small.length + (slim ? 0 : cleared.length) === 0) return null;
  return (
    <div class="alerts">
      {large.map((a) => <AlertBar key={a.id} alert={a} advised={advised && filmRules.has(a.rule)} />)}
      {small.map((a) => <AlertLine key={a.id} alert={a} advised={advised && filmRules.has(a.rule)} />)}
      {!slim && <Cleared unit={unit} list={cleared} />}
    </div>
  );
}

/** Which alerts are large, which in a line of their own, and which have cleared and share one. */
export function sortOut(list: readonly Alert[], now: number): { large: Alert[]; small: Alert[]; cleared: Alert[] } {
  const cleared = clearedOf(list, now);
  const loud = list.filter((a) => !quiet(a, now) && !coveredBy(a, list));
  const large = loud.slice(0, LARGE_AT_ONCE);
  return { large, small: list.filter((a) => !large.includes(a) && !cleared.includes(a)), cleared };
}

/** Alerts whose response the advice of the lane gives more exactly, with the time. */
const filmRules = new Set(["bath-temperature", "power-lost", "power-resumed", "unit-silent", "battery-low", "rotation-stopped"]);

/** What else mains power that is lost brings with it: one large alert says all of it. */
const withoutPower = new Set(["rotation-stopped", "unit-silent", "step-overrun", "phase-overdue", "rotation-slow"]);

/** One large alert says both: a container that will not take this run is also nearly full; a unit without mains power stands still. */
function coveredBy(a: Alert, list: readonly Alert[]): boolean {
  if (a.state !== "unacknowledged") return false;
  const has = (rule: string, subject?: string): boolean => list.some((b) => b.rule === rule && b.state === "unacknowledged" && (subject === undefined || b.subject === subject));
  if (a.rule === "waste-nearly-full") return has("waste-will-not-fit", a.subject);
  return withoutPower.has(a.rule) && has("power-lost");
}
