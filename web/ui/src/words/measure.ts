// Degrees and liters as the reader chose them.

export type Degrees = "C" | "F";

export const inDegrees = (c: number, as: Degrees): number => (as === "C" ? c : (c * 9) / 5 + 32);

export const inCelsius = (v: number, as: Degrees): number => (as === "C" ? v : ((v - 32) * 5) / 9);

/** "37.8 °C" */
export function temperature(c: number, as: Degrees): string {
  return `${inDegrees(c, as).toFixed(1)}\u00a0°${as}`;
}

/** The limits in as many decimals as they need to tell themselves apart: "37.65–37.95". */
export function limits(low: number, high: number, as: Degrees): string {
  return `${plainDegrees(low, as)}–${plainDegrees(high, as)}`;
}

/** A temperature in as many decimals as it needs: "37.8", "100.04". */
export function plainDegrees(c: number, as: Degrees): string {
  const v = inDegrees(c, as);
  for (const places of [0, 1]) if (Math.abs(v - Number(v.toFixed(places))) < 0.005) return v.toFixed(places);
  return v.toFixed(2);
}

/** A difference of temperatures: 10 °C are 18 °F. */
export const difference = (c: number, as: Degrees): number => (as === "C" ? c : (c * 9) / 5);

export type Volumes = "l" | "gal";

/** The symbol of the unit of volume: "L", "gal". */
export const volumeUnit = (as: Volumes): string => (as === "l" ? "L" : "gal");

const US_GALLON_L = 3.785411784; // NIST Handbook 44, appendix C: 231 cubic inches

/** "12.4 L", or "3.3 gal" (US). */
export function litres(l: number, as: Volumes = "l"): string {
  return as === "l" ? `${l.toFixed(1)}\u00a0L` : `${(l / US_GALLON_L).toFixed(1)}\u00a0gal`;
}

/** Litres as the reader has them. */
export const inVolume = (l: number, as: Volumes): number => (as === "l" ? l : l / US_GALLON_L);

/** Litres of what a reader typed in their own measure. */
export const asLitres = (v: number, as: Volumes): number => (as === "l" ? v : v * US_GALLON_L);

export const runsLeft = (n: number): string => (n === 1 ? "1 run" : `${n} runs`);

/** What a container is good for, in figures: "3", or "3 to 4" where its level is not known better. */
export function runsBetween(c: { runs_left: number | null; runs_left_low?: number | null; runs_left_high?: number | null }): string {
  const low = c.runs_left_low ?? c.runs_left;
  const high = c.runs_left_high ?? c.runs_left;
  return low === high || low === null || high === null ? `${c.runs_left ?? ""}` : `${low} to ${high}`;
}

/** The same in words: "3 runs", "3 to 4 runs". */
export function runsLeftOf(c: { runs_left: number | null; runs_left_low?: number | null; runs_left_high?: number | null }): string {
  const n = runsBetween(c);
  return n === "1" ? "1 run" : `${n} runs`;
}
