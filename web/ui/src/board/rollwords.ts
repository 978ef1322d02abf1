/** Twin checks as they are read out: those that follow each other as one range, "48213 to 48216, 48220". */
export function rollsWords(checks: readonly string[]): string {
  const out: string[] = [];
  let from = 0;
  for (let i = 1; i <= checks.length; i++) {
    if (i < checks.length && follows(checks[i - 1] ?? "", checks[i] ?? "")) continue;
    const [a = "", b = ""] = [checks[from], checks[i - 1]];
    out.push(i - from > 2 ? `${a} to ${b}` : checks.slice(from, i).join(", "));
    from = i;
  }
  return out.join(", ");
}

const follows = (a: string, b: string): boolean => /^\d{1,15}$/.test(a) && a.length === b.length && Number(b) === Number(a) + 1;
