import type { JSX } from "preact";

/** How far the source of a figure goes, in three words or fewer: what is unconfirmed stands in a box, not by color. */
export function SourceKind({ of }: { of: string | undefined }): JSX.Element | null {
  if (!of) return null;
  return <span class={`sourcekind${of === "unconfirmed" ? " open" : ""}`}>{of}</span>;
}

/** Of some figures the standing of one; "" where none is known, as of a record from before it was kept. */
export const standingOfFigure = (list: readonly { figure: string; standing: string }[] | null | undefined, ...names: string[]): string =>
  (list ?? []).find((f) => names.includes(f.figure))?.standing ?? "";
