import type { Stand } from "../shared/parts";
import { ms } from "../words/time";
import type { Check } from "./types";

const stands: Record<Check["is"], { is: Stand; word: string; rank: number }> = {
  fault: { is: "out", word: "fault", rank: 0 },
  overdue: { is: "out", word: "overdue", rank: 1 },
  never: { is: "none", word: "never done", rank: 2 },
  "due-soon": { is: "soon", word: "due soon", rank: 3 },
  fine: { is: "in", word: "fine", rank: 4 },
};

export const checkStand = (c: Pick<Check, "is">): { is: Stand; word: string } => stands[c.is] ?? { is: "none", word: c.is };

/** What wants somebody first, then what is due soonest. */
export const checkOrder = (list: readonly Check[]): Check[] =>
  [...list].sort((a, b) => (stands[a.is]?.rank ?? 9) - (stands[b.is]?.rank ?? 9) || (ms(a.due_at) ?? 0) - (ms(b.due_at) ?? 0));

const DAY_MS = 86_400_000;

/** "due in 12 days", "8 days overdue", "every 30 days". */
export function dueWords(c: Pick<Check, "is" | "due_at" | "days" | "runs" | "ran">, now: number): string {
  return c.runs > 0 ? `${daysWords(c, now)} or ${c.runs} runs${c.due_at === null ? "" : ` (${c.ran > c.runs ? `over ${c.runs}` : c.ran} since)`}` : daysWords(c, now);
}

function daysWords(c: Pick<Check, "due_at" | "days">, now: number): string {
  const due = ms(c.due_at);
  const every = c.days === 1 ? "every day" : `every ${c.days} days`;
  if (due === null) return every;
  const left = Math.round((due - now) / DAY_MS);
  if (left < 0) return `${plural(-left)} overdue, ${every}`;
  return left === 0 ? `due today, ${every}` : `due in ${plural(left)}, ${every}`;
}

const plural = (n: number): string => (n === 1 ? "1 day" : `${n} days`);
