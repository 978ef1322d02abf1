import type { JSX } from "preact";
import { useStore } from "../context";
import { kiosk } from "../state/kiosk";
import { soundOn } from "../state/prefs";
import { soundState, unlock } from "../state/sound";
import { hourMinute, ms } from "../words/time";
import { AlertBar } from "./AlertBar";
import { AlertLine } from "./AlertLine";
import { Cleared } from "./Cleared";
import { sortOut } from "./Alerts";
import type { DutyFault } from "../types";

/** What is wrong with the watching itself: no sound, nobody on call, pages that do not go out, and wetside's own alerts. */
export function Watch(): JSX.Element | null {
  const store = useStore();
  const own = store.alertsOf("").value;
  const { large, small, cleared } = sortOut(own, store.now.peek());
  const status = store.duty.status.value;
  // What an open alert says already is not said twice.
  const faults = (status?.faults ?? []).filter((f) => !own.some((a) => a.rule === f.code && a.state !== "acknowledged"));
  const dark = status?.dark ?? [];
  const sound = soundState.value;
  if (large.length + small.length + cleared.length + faults.length + dark.length === 0 && sound === "ready") return null;
  return (
    <section class="watch" aria-label="The watch itself">
      {large.length + small.length + cleared.length > 0 && (
        <div class="own">
          <h2>Wetside itself</h2>
          {large.map((a) => <AlertBar key={a.id} alert={a} />)}
          {small.map((a) => <AlertLine key={a.id} alert={a} />)}
          <Cleared unit="" list={cleared} />
        </div>
      )}
      <div role="status"><ul class="faults">
        {faults.map((f) => <Fault key={f.code + f.text} fault={f} />)}
        {dark.map((d) => <InTheDark key={d.person} person={d.person} until={d.until} />)}
        {sound !== "ready" && <NoSound state={sound} />}
      </ul></div>
    </section>
  );
}

/** Faults of who is called: they are put right on the page On call, and an urgent alert must not wait for that. */
const ofCalling = new Set(["nobody-on-duty", "nobody-reachable", "on-call-unreachable"]);

function Fault({ fault: f }: { fault: DutyFault }): JSX.Element {
  const calling = ofCalling.has(f.code);
  return (
    <li class={calling ? "fault loud" : "fault"}>
      <Cross /><span>{f.text}</span>
      {calling && !kiosk.value && <a href="#/duty">Fix it</a>}
    </li>
  );
}

/** A broken line: something that should be there is not. */
function Cross(): JSX.Element {
  return <svg class="broken" viewBox="0 0 24 24" aria-hidden="true"><path d="M2 12h6M16 12h6M9 7l6 10M15 7 9 17" /></svg>;
}

function InTheDark({ person, until }: { person: string; until: string | null }): JSX.Element {
  const t = ms(until);
  return <li class="darkly"><i aria-hidden="true" />{person} works in the dark{t === null ? "" : ` until ${hourMinute(t)}`}: the next one is called</li>;
}

function NoSound({ state }: { state: "locked" | "off" | "none" }): JSX.Element {
  if (state === "none") return <li class="fault"><Cross />This screen has no sound</li>;
  const words = state === "off" ? "Sound is off" : "Sound is off until this screen is touched";
  const on = (): void => {
    soundOn.value = "on";
    unlock();
  };
  return (
    <li class="fault">
      <Cross />{words}
      {!kiosk.value && <button class="plain" onClick={on}>Turn sound on</button>}
    </li>
  );
}
