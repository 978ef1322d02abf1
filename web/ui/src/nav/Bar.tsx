import type { JSX } from "preact";
import { DarkButton } from "../board/DarkButton";
import { kiosk } from "../state/kiosk";
import { Find } from "./Find";
import { Links } from "./Links";
import { More } from "./More";
import "./nav.css";

/** On top of every page, whatever is scrolled: the pages with the open alerts, search, and the rest under More. A wall stays a wall. */
export function Bar(): JSX.Element | null {
  if (kiosk.value) return null;
  const skip = (): void => {
    const main = document.getElementById("main");
    main?.querySelector<HTMLElement>("a, button, input, select, textarea, [tabindex]")?.focus();
  };
  return (
    <div class="bar">
      <button class="skip" onClick={skip}>Past the pages</button>
      <nav aria-label="Pages"><Links /></nav>
      <Find />
      <span class="barside"><DarkButton /></span>
      <More />
    </div>
  );
}
