// What the trade calls the steps and processes, from long to short.

interface StepWords {
  full: string;
  short: string;
  tiny: string;
}

const known: Record<string, StepWords> = {
  developer: { full: "Developer", short: "dev", tiny: "dev" },
  "first-developer": { full: "First developer", short: "first dev", tiny: "1st dev" },
  "color-developer": { full: "Color developer", short: "color dev", tiny: "col dev" },
  "reversal-bath": { full: "Reversal bath", short: "reversal", tiny: "rev" },
  "pre-bleach": { full: "Pre-bleach", short: "pre-bleach", tiny: "pre-bl" },
  bleach: { full: "Bleach", short: "bleach", tiny: "bleach" },
  "bleach-fix": { full: "Bleach-fix", short: "blix", tiny: "blix" },
  "stop-bath": { full: "Stop bath", short: "stop", tiny: "stop" },
  fixer: { full: "Fixer", short: "fix", tiny: "fix" },
  wash: { full: "Wash", short: "wash", tiny: "wash" },
  "final-rinse": { full: "Final rinse", short: "rinse", tiny: "rinse" },
};

function sentence(s: string): string {
  const t = s.replaceAll("-", " ").trim();
  return t === "" ? t : t.charAt(0).toUpperCase() + t.slice(1);
}

/** The words for a step; a lab's own step keeps the label the sheet gives it. */
export function stepWords(step: string, label = ""): StepWords {
  const w = known[step] ?? (/^wash-\d+$/.test(step) ? known["wash"] : undefined);
  if (w) return w;
  const full = sentence(label || step);
  const short = full.toLowerCase();
  return { full, short, tiny: short.slice(0, 4) };
}

/** Names to try for a segment, longest first. */
export function segmentNames(step: string, label = ""): string[] {
  const w = stepWords(step, label);
  return [...new Set([w.full.toLowerCase(), w.short, w.tiny])];
}

const processes: Record<string, string> = {
  c41: "C-41",
  "c41-kit": "C-41 kit",
  "e6-3": "E-6 3-bath",
  "e6-7": "E-6",
  bw: "B&W",
};

export const processName = (id: string): string => processes[id] ?? id;

/** Push as people write it: "+1", "−½", "" for none. */
export function pushName(stops: number): string {
  if (!Number.isFinite(stops) || Math.abs(stops) < 0.005) return "";
  const whole = Math.trunc(Math.abs(stops));
  const rest = Math.abs(stops) - whole;
  const near: [number, string][] = [[0, ""], [0.5, "½"], [1 / 3, "⅓"], [2 / 3, "⅔"], [0.25, "¼"], [0.75, "¾"]];
  const hit = near.find(([v]) => Math.abs(v - rest) < 0.02);
  const size = hit ? `${whole || (hit[1] ? "" : 0)}${hit[1]}` : Math.abs(stops).toFixed(2);
  return (stops > 0 ? "+" : "−") + size;
}

const kinds: Record<string, string> = { strip: "control strip", flush: "flush", water: "water", prime: "prime" };

/** What a run is when it has no customers' film in it. */
export const kindName = (kind: string): string => kinds[kind] ?? "";

const jobs: Record<string, string> = {
  "to-dryer": "to dryer",
  "empty-waste": "empty waste",
  "top-up-wash": "top up wash",
  chemistry: "chemistry",
  "control strip": "control strip",
  "second control strip": "second strip",
  "fetch film from the dryer": "fetch film",
  "start the loaded run": "start run",
};

// The engine's sentences for the same, as a board has room for them.
const brief: [RegExp, (step: string) => string][] = [
  [/^reels to the dryer$/, () => "to dryer"],
  [/^empty the waste$/, () => "empty waste"],
  [/^top up the wash water$/, () => "top up wash"],
  [/^chemistry is needed$/, () => "chemistry"],
  [/^a person is needed$/, () => "needs you"],
  [/^end (.+?)(?: early| late)?$/, (s) => `end ${tinyStep(s)}`],
  [/^drain (.+?)(?: by hand|, hold the rolls)?$/, (s) => `drain ${tinyStep(s)}`],
  [/^do (.+) again$/, (s) => `${tinyStep(s)} again`],
  [/^see to film in (.+)$/, (s) => `film in ${tinyStep(s)}`],
  [/^check (.+)$/, (s) => `check ${s}`],
  [/^look at (.+)$/, (s) => `look at ${s}`],
  [/^see (.+) end$/, (s) => `${tinyStep(s)} ends`],
];

const tinyStep = (words: string): string => {
  const id = words.replaceAll(" ", "-");
  return id in known ? stepWords(id).tiny : words;
};

/** What a person has to do, in two or three short words. */
export function jobName(what: string): string {
  if (jobs[what]) return jobs[what];
  const words = what.replaceAll("-", " ");
  for (const [like, say] of brief) {
    const m = like.exec(words);
    if (m) return say(m[1] ?? "");
  }
  return words;
}
