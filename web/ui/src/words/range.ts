/** What would narrow the range of a push error most: "Check the probe against a thermometer: halves the range." */
export function narrowerWords(n: { text: string; to: number } | null | undefined): string {
  if (!n) return "";
  if (n.to >= 0.45 && n.to <= 0.55) return `${n.text}: halves the range.`;
  if (n.to >= 0.3 && n.to <= 0.36) return `${n.text}: leaves a third of the range.`;
  return `${n.text}: leaves ${Math.round(100 * n.to)} % of the range.`;
}
