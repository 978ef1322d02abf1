import type { JSX } from "preact";
import { useStore } from "../context";
import { tick } from "../state/clock";
import { hourMinuteSecond } from "../words/time";

const PATIENCE_MS = 4000;

/** Says that what is shown is old. Nothing else on the page is as loud. */
export function Banner(): JSX.Element {
  const store = useStore();
  const link = store.link.value;
  let text = "";
  if (link.state === "down") {
    const since = hourMinuteSecond(link.since);
    const why = store.standsBy.value.replace(/^standing by: /, "").replace(/\. No telemetry.*$/, "");
    if (why) text = `${why.charAt(0).toUpperCase()}${why.slice(1)}${store.ready.value ? " — what you see is old" : ""}`;
    else text = store.ready.value
      ? `No connection to wetside since ${since} — what you see is old`
      : `No connection to wetside since ${since}`;
  } else if (link.state === "connecting" && tick.value - link.since > PATIENCE_MS) {
    text = "Still connecting to wetside…";
  }
  return (
    <div role="status" class={text ? "banner" : "banner none"}>
      {text && (
        <>
          <span class="crossed" aria-hidden="true" />
          <strong>{text}</strong>
          <span class="trying">Trying again. Watch the units themselves.</span>
        </>
      )}
    </div>
  );
}
