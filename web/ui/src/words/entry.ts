import type { Degrees, Volumes } from "./measure";
import { inDegrees, litres, temperature } from "./measure";
import { filmDoings } from "./film";
import { processName, pushName, stepWords } from "./steps";
import { clockSpan } from "./time";
import { containerName } from "./container";

// What a person entered about a unit, in a line.

interface As {
  degrees: Degrees;
  volumes: Volumes;
}

type Body = Record<string, unknown>;

const text = (b: Body, k: string): string => (typeof b[k] === "string" ? (b[k] as string) : "");
const num = (b: Body, k: string): number | null => (typeof b[k] === "number" ? (b[k] as number) : null);

/** A difference of degrees, signed: "−0.12 °C". */
export function offsetWords(c: number, as: Degrees): string {
  const v = inDegrees(c, as) - inDegrees(0, as);
  return `${v > 0 ? "+" : v < 0 ? "−" : ""}${Math.abs(v).toFixed(2)} °${as}`;
}

/** What a unit's own name of a step means. */
export function stepNameWords(name: string, step: string): string {
  return step ? `“${name}” is ${stepWords(step).full.toLowerCase()}` : `“${name}” is an extra step`;
}

/** From where to where a unit counts the time in a step. */
export function stepTimeWords(withFill: boolean, withDrain: boolean): string {
  return `Time in a step: from ${withFill ? "the beginning of the fill" : "the end of the fill"} to ${withDrain ? "the end of the drain" : "the beginning of the drain"}`;
}

export function entryWords(what: string, body: Body | null, as: As): string {
  const b = body ?? {};
  switch (what) {
    case "note":
      return text(b, "text");
    case "container": {
      const l = num(b, "litres");
      const name = text(b, "container");
      const role = name === "wash" || name === "waste" ? name : name.includes("/") ? "bottle" : "recovery";
      return `${containerName({ name, role })} ${text(b, "what").replace("-", " ")}${l === null ? "" : ` (${litres(l, as.volumes)})`}${text(b, "note") && `: ${text(b, "note")}`}`;
    }
    case "capacity": {
      const l = num(b, "capacity_l") ?? 0;
      return `Capacity of ${text(b, "container")}: ${l > 0 ? litres(l, as.volumes) : "as the unit says"}`;
    }
    case "probe":
      return `Probe: ${offsetWords(num(b, "offset_c") ?? 0, as.degrees)} is added to what it says${text(b, "reference") && `, by ${text(b, "reference")}`}`;
    case "probe-kind":
      return text(b, "class") ? `The probe is of class ${text(b, "class")} (IEC 60751)` : "The kind of the probe is not known";
    case "house-aim": {
      const s = num(b, "equivalent_s") ?? 0;
      const of = [processName(text(b, "process")), pushName(num(b, "push") ?? 0), stepWords(text(b, "step")).full.toLowerCase()].filter((x) => x !== "").join(" ");
      return `House aim of ${of}: ${s > 0 ? clockSpan(s) : "back to the sheet"}`;
    }
    case "developer":
      return `Developer of ${processName(text(b, "process"))}: ${text(b, "developer") || "the sheet's own"}`;
    case "measured":
      return `Measured ${temperature(num(b, "c") ?? 0, as.degrees)} in the bath`;
    case "step-name":
      return `${processName(text(b, "process"))}: ${stepNameWords(text(b, "name"), text(b, "step"))}`;
    case "step-time":
      return stepTimeWords(b["with_fill"] === true, b["with_drain"] === true);
    case "check":
      return `${text(b, "check").replaceAll("-", " ")}: ${b["ok"] === false ? "a fault was found" : "fine"}${text(b, "note") && `, ${text(b, "note")}`}`;
    case "load": {
      const n = Array.isArray(b["rolls"]) ? b["rolls"].length : 0;
      return `Loaded ${`${processName(text(b, "process"))} ${pushName(num(b, "push") ?? 0)}`.trim()}, ${n === 1 ? "1 roll" : `${n} rolls`}`;
    }
    case "unload":
      return "The load was undone";
    case "turned-by-hand":
      return "Turned by hand";
    case "film":
      return `Film: ${(filmDoings.find(([k]) => k === text(b, "what"))?.[1] ?? text(b, "what")).toLowerCase()}${text(b, "note") && `, ${text(b, "note")}`}`;
    case "continues":
      return text(b, "run") ? "Goes on with the film of an earlier run" : "Is a film of its own";
    case "drained":
      return "Drained by hand";
    default:
      return what.replaceAll("-", " ");
  }
}
