import type { Container, Unit } from "../types";
import { freshness } from "../state/fresh";
import { runsLeft } from "./measure";
import { age, clockSpan, hourMinute, ms } from "./time";
import { jobName, stepWords } from "./steps";

/** What a unit does, in three pieces so that the time can be set large. */
export interface Doing {
  lead: string;
  time: string;
  tail: string;
  /** A person is needed for it to go on. */
  needsHand: boolean;
}

const say = (lead: string, time = "", tail = "", needsHand = false): Doing => ({ lead, time, tail, needsHand });

/** Seconds left in the step by now, from what the server said at `heardAt`. */
export function stepLeft(unit: Unit, now: number, heardAt: number): number | null {
  const left = unit.run?.step_left_s;
  if (left === null || left === undefined) return null;
  const running = unit.run?.phase === "in-bath" && unit.link === "online" && unit.power.source !== "battery";
  return running ? left - (now - heardAt) / 1000 : left;
}

/** A step's name of more letters than this is said short where room is short. */
const LONG_NAME = 10;

/**
 * The unit in words. `now` is the server's clock, `heardAt` when the frame came,
 * by the same. `brief`: long names of steps by their short ones.
 */
export function doing(unit: Unit, now: number, heardAt: number, brief = false): Doing {
  const fresh = freshness(unit, now);
  const heard = ms(unit.last_heard_at);
  const run = unit.run;
  if (unit.link === "offline" && !run) return say("Offline", "", heard ? `last data ${hourMinute(heard)}` : "no data received");
  // A run that was stopped in its baths: from four meters "ready" would be read first.
  if ((!run || run.phase === "idle") && unit.light.state === "dark") return say("Stopped,", "", "film wet", true);
  if (!run || run.phase === "idle") return ready(unit);
  const name = stepWords(run.step, planLabel(unit));
  const step = brief && name.full.length > LONG_NAME ? name.short.charAt(0).toUpperCase() + name.short.slice(1) : name.full;
  if (unit.link !== "online" && heard !== null) {
    return say("Silent", age((now - heard) / 1000), `in ${step.toLowerCase()}`, true);
  }
  switch (run.phase) {
    case "waiting":
      return run.waits_for ? say("Needs you:", "", jobName(run.waits_for), true) : say("Needs you", "", "", true);
    case "drying":
      return run.remaining_s === null
        ? say("Drying")
        : say("Drying", clockSpan(run.remaining_s - (now - heardAt) / 1000), "left");
    case "done":
      return say("Done", "", "· take the film out");
    case "aborted":
      return say("Stopped", "", `in ${step.toLowerCase()}`, true);
    case "heating":
      return say("Heating for", "", step.toLowerCase());
    case "filling":
      return say("Filling", "", step.toLowerCase());
    case "draining":
      return say("Draining", "", step.toLowerCase());
  }
  const left = stepLeft(unit, now, heardAt);
  if (left === null || fresh.link === "missing") return say(step);
  return left < -0.5 ? say(step, clockSpan(-left), "past its time") : say(step, clockSpan(left), "left");
}

/** An idle unit: for how many runs its containers will serve, or what is in the way. */
function ready(unit: Unit): Doing {
  const list = unit.containers.filter(touched);
  const least = list.filter((c) => c.runs_left !== null).sort((a, b) => (a.runs_left ?? 0) - (b.runs_left ?? 0))[0];
  if (!least || least.runs_left !== 0) {
    if (list.some((c) => c.runs_left === null)) return say("Ready,", "", "runs left not known");
    return least ? say("Ready", "", `for ${runsLeft(least.runs_left ?? 0)}`) : say("Ready");
  }
  const drains = least.role === "waste" || least.role === "recovery";
  const name = least.role === "wash" ? "water" : (least.name.split("/").at(-1) ?? least.name);
  return say("Not ready:", "", drains ? `no room in ${name}` : `${name} is short`, true);
}

/** Whether a run may take from a container or bring it something: all but bottles and recovery that it is known not to touch. */
const touched = (c: Container): boolean => c.next_run_l !== 0 && (c.role === "waste" || c.role === "wash" || c.next_run_l !== undefined);

function planLabel(unit: Unit): string {
  return unit.run?.plan?.find((p) => p.n === unit.run?.n)?.label ?? "";
}
