import type { JSX } from "preact";
import type { Signal } from "@preact/signals";
import { useStore } from "../context";
import { Part } from "../shared/parts";
import { degrees, scheme, soundOn, speech, volumes } from "../state/prefs";
import { play, soundState, unlock } from "../state/sound";

/** How one person wants the pages; kept with their name, and followed at each of their screens. */
export function MinePart(): JSX.Element {
  const me = useStore().session.value?.name ?? "";
  const hear = (): void => {
    unlock();
    setTimeout(() => play("high"), 150);
  };
  return (
    <Part title="Your own" note={me ? `Saved for ${me}; nobody else sees a change.` : "Saved in this browser."}>
      <Choice of="Colors" pick={scheme} options={[["auto", "As the machine"], ["light", "Light"], ["dark", "Dark"]]} />
      <Choice of="Temperature" pick={degrees} options={[["C", "°C"], ["F", "°F"]]} />
      <Choice of="Volume" pick={volumes} options={[["l", "Liters"], ["gal", "US gallons"]]} />
      <Choice of="Sound" pick={soundOn} options={[["on", "For every alert"], ["urgent", "Only urgent"], ["off", "None"]]} />
      <Choice of="Spoken alerts" pick={speech} options={[["off", "No"], ["on", "Read aloud"]]} />
      <p class="doors"><button class="plain" onClick={hear}>Hear a tone</button> {soundState.value === "locked" && <span>This browser lets no sound out until the page was touched.</span>}</p>
    </Part>
  );
}

function Choice<T extends string>({ of, pick, options }: { of: string; pick: Signal<T>; options: [T, string][] }): JSX.Element {
  return (
    <fieldset class="pickrow">
      <legend>{of}</legend>
      {options.map(([v, words]) => <button key={v} class="plain" aria-pressed={pick.value === v} onClick={() => (pick.value = v)}>{words}</button>)}
    </fieldset>
  );
}
