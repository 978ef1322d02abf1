import type { JSX } from "preact";
import { LinkOnce, MakeLink, madeLink } from "../settings/ScreensPart";

/** A link for a screen on the wall: it may look, and change nothing. */
export function WallStep({ again }: { again(): Promise<void> }): JSX.Element {
  return (
    <>
      <p>A screen that everybody can read from four meters. The link lets it look and change nothing, and can be withdrawn. Not in the loading room: a screen fogs open film.</p>
      {!madeLink.value && <MakeLink again={again} />}
      <LinkOnce />
    </>
  );
}
