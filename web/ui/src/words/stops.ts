// Push error in the words of the trade: thirds of a stop.

const parts = ["", "⅓", "⅔"] as const;

/** "+⅓", "−1⅔", "0": to the nearest third. */
export function thirds(stops: number): string {
  const n = Math.round(Math.abs(stops) * 3);
  if (n === 0) return "0";
  const whole = Math.floor(n / 3);
  return `${stops > 0 ? "+" : "−"}${whole === 0 ? "" : whole}${parts[n % 3] ?? ""}`;
}

/** "+0.36", "−0.05", "0.00": signs as people print them. */
export function signed(v: number, places = 2): string {
  const text = Math.abs(v).toFixed(places);
  return Number(text) === 0 ? text : (v > 0 ? "+" : "−") + text;
}

/** "pushed", "a little pulled", "as asked for". */
export function errorWords(stops: number): string {
  if (Math.abs(stops) < 0.05) return "as asked for";
  const way = stops > 0 ? "pushed" : "pulled";
  return thirds(stops) === "0" ? `a little ${way}` : way;
}

/** The whole of it, for a row or a screen reader: "+⅓ stop (+0.36, from +0.29 to +0.44)". */
export function errorFull(stops: number, low: number | null, high: number | null): string {
  const range = low === null || high === null ? "" : `, from ${signed(low)} to ${signed(high)}`;
  const t = thirds(stops);
  return `${t} ${t === "0" || !t.includes("1") && !t.includes("2") ? "stop" : "stops"} (${signed(stops)}${range})`;
}
