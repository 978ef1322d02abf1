import type { JSX } from "preact";
import { useGet } from "../shared/useGet";
import { LinkOnce, MakeLink, madeLink } from "../settings/ScreensPart";
import type { Reach } from "../types";

/** A link for a screen on the wall: it may look, and change nothing. */
export function WallStep({ again }: { again(): Promise<void> }): JSX.Element {
  const { got } = useGet<Reach>("/reach");
  const r = got.value.value;
  return (
    <>
      <p>A screen that everybody can read from four meters. The link lets it look and change nothing, and can be withdrawn. Not in the loading room: a screen fogs open film.</p>
      {r && r.board.length > 0 && <p>Other machines open the board at <b>{r.board.join(" or ")}</b>: open this page there before you make the link.</p>}
      {r?.board_flag && <p><b>No other machine can open the board yet.</b> Start wetside with <code>{r.board_flag}</code> first; a link made now works on this machine only.</p>}
      {!madeLink.value && <MakeLink again={again} />}
      <LinkOnce />
    </>
  );
}
