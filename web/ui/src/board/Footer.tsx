import type { JSX } from "preact";
import { useStore } from "../context";
import { route, type Route } from "../route";
import { degrees, scheme, type Scheme } from "../state/prefs";

const pages: [Route, string][] = [["board", "Board"], ["alerts", "Alerts"], ["runs", "Runs"], ["load", "Load"], ["start", "Start of day"]];
const next: Record<Scheme, Scheme> = { auto: "light", light: "dark", dark: "auto" };
const schemeName: Record<Scheme, string> = { auto: "Auto", light: "Light", dark: "Dark" };

/** The caution that is always there, and the way to the other pages. */
export function Footer(): JSX.Element {
  const store = useStore();
  const signOut = async (): Promise<void> => {
    try {
      await store.act("DELETE", "/session");
    } finally {
      store.disconnect();
      await store.refreshSession();
    }
  };
  return (
    <footer class="foot">
      <p class="caution">
        <b>Wetside advises; it is no safety device.</b> Gloves and goggles; never mix waste streams; keep electricity away
        from water; hot liquid. What may go down a drain is for local codes and licensed practice to say.
      </p>
      <nav aria-label="Pages">
        {pages.map(([r, name]) => (
          <a key={r} href={`#/${r}`} aria-current={route.value === r || (r === "runs" && route.value === "report") ? "page" : undefined}>{name}</a>
        ))}
      </nav>
      <div class="switches">
        <button
          class="plain"
          aria-label={`Temperatures in °${degrees.value}; change to °${degrees.value === "C" ? "F" : "C"}`}
          onClick={() => (degrees.value = degrees.value === "C" ? "F" : "C")}
        >
          °{degrees.value}
        </button>
        <button
          class="plain"
          aria-label={`Colours: ${schemeName[scheme.value]}; change to ${schemeName[next[scheme.value]]}`}
          onClick={() => (scheme.value = next[scheme.value])}
        >
          {schemeName[scheme.value]}
        </button>
        <button class="plain" onClick={() => void signOut()}>Sign out</button>
      </div>
    </footer>
  );
}
