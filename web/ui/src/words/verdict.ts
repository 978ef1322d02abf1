import type { Run } from "../types";

/** How a run stands, in a shape and in words; never that film is spoiled. */
export type Standing = "running" | "in-control" | "inspect" | "out-of-control" | "unjudged";

export function standingOf(run: Pick<Run, "verdict" | "outcome">): Standing {
  if (run.verdict) return run.verdict;
  return run.outcome === "running" ? "running" : "unjudged";
}

export const standingWords: Record<Standing, string> = {
  running: "running",
  "in-control": "in control",
  inspect: "inspect",
  "out-of-control": "out of control",
  unjudged: "not judged",
};

/** What a verdict asks of a person. */
export const standingMeans: Record<Standing, string> = {
  running: "Not judged yet: the run goes on.",
  "in-control": "Everything stayed within the limits.",
  inspect: "Something was off. Look at the film before it goes out.",
  "out-of-control": "Far off, or a step was skipped. Hold the film and look at it.",
  unjudged: "Nothing can be said of the film: no sheet, no film, or too little data.",
};

const outcomes: Record<Run["outcome"], string> = {
  running: "goes on",
  done: "done",
  aborted: "stopped before its end",
  lost: "no data received of its end",
};

export const outcomeWords = (o: Run["outcome"]): string => outcomes[o];

/** What people decide about the film of a run. */
export const decisions: [code: string, word: string, means: string][] = [
  ["release", "Release", "goes to the customer as it is"],
  ["hold", "Hold", "waits until somebody has looked"],
  ["reprocess", "Reprocess", "a bath is done again"],
  ["correct", "Correct", "in scan or print"],
  ["lost", "Lost", "the pictures cannot be recovered"],
];

export const decisionWord = (code: string): string => decisions.find(([c]) => c === code)?.[1] ?? code;

const reasons: Record<string, string> = {
  "bath-warm": "bath too warm",
  "bath-cool": "bath too cool",
  "bath-swings": "bath swings (heater hunts)",
  "step-long": "step too long",
  "step-short": "step too short",
  "step-skipped": "step skipped",
  rotation: "film did not turn",
  outage: "mains power lost",
  "wrong-time": "wrong time set",
  "wrong-process": "wrong process",
  chemistry: "chemistry",
  dryer: "dryer",
  "missing-evidence": "data missing",
  "out-of-pattern": "unlike the good runs",
};

/** A reason in two to four words. */
export const reasonWord = (code: string): string => reasons[code] ?? code.replaceAll("-", " ");

const advice: Record<string, string> = {
  continue: "Go on",
  shorten: "End it sooner",
  extend: "Give it longer",
  repeat: "Do this bath again",
  drain: "Drain at once",
  discard: "Too late to save by time: hold and look",
};

export const adviceWord = (code: string): string => advice[code] ?? code;

const kinds: [code: string, word: string][] = [
  ["film", "customers' film"],
  ["strip", "control strip"],
  ["flush", "flush"],
  ["water", "water only"],
  ["prime", "prime"],
];

export const runKinds = kinds;
export const runKindWord = (code: string): string => kinds.find(([c]) => c === code)?.[1] ?? code;
