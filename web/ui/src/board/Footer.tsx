import type { JSX } from "preact";
import { More } from "../nav/More";
import { kiosk } from "../state/kiosk";

/** The caution that is always there; on a wall also the way to the other pages. */
export function Footer(): JSX.Element {
  return (
    <footer class="foot">
      <p class="caution">
        <b>Wetside advises; it is no safety device.</b> Gloves and goggles; never mix waste streams; keep electricity away
        from water; hot liquid. What may go down a drain is for local codes and licensed practice to say.
      </p>
      {kiosk.value && <More />}
    </footer>
  );
}
