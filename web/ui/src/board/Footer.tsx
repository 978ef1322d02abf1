import type { JSX } from "preact";
import { route, type Route } from "../route";
import { FiguresMark } from "../shared/FiguresNotice";
import { kiosk } from "../state/kiosk";
import { DarkButton } from "./DarkButton";
import { ScreenPanel } from "./ScreenPanel";

const pages: [Route, string][] = [["board", "Board"], ["alerts", "Alerts"], ["runs", "Runs"], ["load", "Load"], ["start", "Start of day"], ["strips", "Strips"], ["duty", "On call"], ["hand-over", "Hand-over"], ["settings", "Settings"]];
/** The caution that is always there, and the way to the other pages. */
export function Footer(): JSX.Element {
  return (
    <footer class="foot">
      <p class="caution">
        <b>Wetside advises; it is no safety device.</b> Gloves and goggles; never mix waste streams; keep electricity away
        from water; hot liquid. What may go down a drain is for local codes and licensed practice to say.
      </p>
      {!kiosk.value && <nav aria-label="Pages">
        {pages.map(([r, name]) => (
          <a key={r} href={`#/${r}`} aria-current={route.value === r || (r === "runs" && route.value === "report") || (r === "alerts" && route.value === "alert") ? "page" : undefined}>{name}{r === "start" && <FiguresMark />}</a>
        ))}
      </nav>}
      {!kiosk.value && (
        <div class="switches">
          <DarkButton />
          <ScreenPanel />
        </div>
      )}
    </footer>
  );
}
