import type { JSX } from "preact";
import { degrees, volumes } from "../state/prefs";
import { containerName, takesIn } from "../words/container";
import { litres, runsBetween, temperature } from "../words/measure";
import { stepWords } from "../words/steps";
import type { LoadPlan, PlanContainer } from "./types";

type Standing = "fine" | "wanting" | "unknown";

const signs: Record<Standing, [string, string]> = { fine: ["○", "fine"], wanting: ["▲", "not enough"], unknown: ["?", "unknown"] };

/** What water, waste, chemistry and heater say of a run, before start is pressed. */
export function PlanList({ plan }: { plan: LoadPlan }): JSX.Element {
  return (
    <ul class="planlist" aria-label="Will it suit?">
      {!plan.process_known && <Line standing="wanting" word="no sheet" what="Process" text="This process has no sheet: the film of the run cannot be judged." />}
      {plan.heater && <Heater h={plan.heater} />}
      {inOrder(plan.containers).map((c) => <OneContainer key={c.name} c={c} />)}
      <FullBottles list={plan.containers.filter(isFullBottle)} />
    </ul>
  );
}

const isFullBottle = (c: PlanContainer): boolean => c.role === "bottle" && c.standing === "enough";
const rank: Record<PlanContainer["standing"], number> = { short: 0, unknown: 1, enough: 2 };

/** What is short first, then what nobody knows; bottles with enough in them share one line. */
export function inOrder(list: readonly PlanContainer[]): PlanContainer[] {
  return list.filter((c) => !isFullBottle(c)).sort((a, b) => rank[a.standing] - rank[b.standing] || a.name.localeCompare(b.name));
}

function FullBottles({ list }: { list: readonly PlanContainer[] }): JSX.Element | null {
  if (list.length === 0) return null;
  if (list.length === 1) return <OneContainer c={list[0] as PlanContainer} />;
  const names = list.map((c) => stepWords(c.name.split("/").at(-1) ?? c.name).full.toLowerCase());
  return <Line standing="fine" what="Bottles" word="enough" text={names.join(", ")} />;
}

function Line({ standing, what, text, word }: { standing: Standing; what: string; text: string; word?: string }): JSX.Element {
  const [sign, words] = signs[standing];
  return (
    <li class={standing}>
      <span class="psign" aria-hidden="true">{sign}</span>
      <span><b>{what}</b> {word ?? words}<span class="muted num"> {text}</span></span>
    </li>
  );
}

function Heater({ h }: { h: NonNullable<LoadPlan["heater"]> }): JSX.Element {
  const is = h.c === null ? "" : temperature(h.c, degrees.value);
  const to = h.aim_c === null ? "" : ` of ${temperature(h.aim_c, degrees.value)}`;
  if (h.standing === "ready") return <Line standing="fine" what="Heater" word="ready" text={is} />;
  if (h.standing === "heating") return <Line standing="unknown" what="Heater" word="still heating" text={`${is}${to}`} />;
  return <Line standing="unknown" what="Heater" text="no data received: look" />;
}

function OneContainer({ c }: { c: PlanContainer }): JSX.Element {
  const needs = c.needs_l === null ? (takesIn(c.role) ? "how much a run drains is not known" : "how much a run draws is not known") : `needs ${litres(c.needs_l, volumes.value)}`;
  const has = c.has_l === null ? "no level received" : takesIn(c.role) ? `room for ${litres(Math.max(0, c.has_l), volumes.value)}` : `holds ${litres(c.has_l, volumes.value)}`;
  const standing: Standing = c.standing === "enough" ? "fine" : c.standing === "short" ? "wanting" : "unknown";
  const word = c.standing === "short" ? (takesIn(c.role) ? "too full" : "too little") : c.standing === "enough" ? (takesIn(c.role) ? "has room" : "enough") : undefined;
  return <Line standing={standing} what={containerName(c)} text={`${needs}, ${has}${enoughFor(c)}`} {...(word === undefined ? {} : { word })} />;
}

/** ": enough for 3 to 4 runs like this", where that is known. */
export function enoughFor(c: Pick<PlanContainer, "runs_low" | "runs_high">): string {
  if (c.runs_low === undefined || c.runs_high === undefined || c.runs_high === 0) return "";
  const n = runsBetween({ runs_left: c.runs_low, runs_left_low: c.runs_low, runs_left_high: c.runs_high });
  return `: enough for ${n} ${n === "1" ? "run" : "runs"} like this`;
}
