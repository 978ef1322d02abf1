import type { JSX } from "preact";
import type { Signal } from "@preact/signals";
import { useStore } from "../context";
import { degrees, scheme, soundOn, speech, volumes } from "../state/prefs";
import { play, unlock } from "../state/sound";

/** What this screen shows and how: colors, units, sound; and the way out. */
export function ScreenChoices(): JSX.Element {
  const store = useStore();
  const hear = (): void => {
    soundOn.value = "on";
    unlock();
    setTimeout(() => play("high"), 150);
  };
  return (
    <div class="screenpanel" role="group" aria-label="This screen">
      <Choice of="Colors" pick={scheme} options={[["auto", "As the machine"], ["light", "Light"], ["dark", "Dark"]]} />
      <Choice of="Temperature" pick={degrees} options={[["C", "°C"], ["F", "°F"]]} />
      <Choice of="Volume" pick={volumes} options={[["l", "Liters"], ["gal", "US gallons"]]} />
      <Choice of="Sound" pick={soundOn} options={[["on", "On"], ["urgent", "Urgent only"], ["off", "Off"]]} />
      <Choice of="Spoken alerts" pick={speech} options={[["off", "Off"], ["on", "On"]]} />
      <p class="acts">
        <button class="plain" onClick={hear}>Hear a tone</button>
        <button class="plain" onClick={() => void store.signOut()}>Sign out{store.session.value?.name ? ` ${store.session.value.name}` : ""}</button>
      </p>
    </div>
  );
}

function Choice<T extends string>({ of, pick, options }: { of: string; pick: Signal<T>; options: [T, string][] }): JSX.Element {
  return (
    <fieldset>
      <legend>{of}</legend>
      {options.map(([v, words]) => (
        <button key={v} class="plain" aria-pressed={pick.value === v} onClick={() => (pick.value = v)}>{words}</button>
      ))}
    </fieldset>
  );
}
