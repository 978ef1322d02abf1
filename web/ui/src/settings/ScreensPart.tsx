import type { JSX } from "preact";
import { signal, useSignal } from "@preact/signals";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { dayOf } from "../words/day";
import { ms } from "../words/time";
import type { WallLink, WallLinkList } from "../types";

/** The link that was just made: shown once, for its key is not kept. */
export const madeLink = signal<{ name: string; url: string } | null>(null);

/** View-only links for screens on a wall. */
export function ScreensPart(): JSX.Element {
  const may = useMay();
  const { got, again } = useGet<WallLinkList>(may.set ? "/wall-links" : null);
  if (!may.set) return <Part title="Screens"><p>A lead makes the links for screens on a wall.</p></Part>;
  const links = got.value.value?.links ?? [];
  return (
    <Part title="Screens" note="Whoever has the link may look, and change nothing. No live screen in the loading room: it fogs film.">
      <Waiting got={got.value} again={again} what="The links" />
      {got.value.value && links.length === 0 && <p>No screen has a link yet. Make one, and open it on the machine behind the screen.</p>}
      <ul class="lines">{links.map((l) => <LinkRow key={l.name} l={l} again={again} />)}</ul>
      <MakeLink again={again} />
      <LinkOnce />
    </Part>
  );
}

function LinkRow({ l, again }: { l: WallLink; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const withdraw = async (): Promise<void> => {
    if (!(await act.send("DELETE", `/wall-links/${encodeURIComponent(l.name)}`))) return;
    if (madeLink.value?.name === l.name) madeLink.value = null;
    await again();
  };
  return (
    <li>
      <b>{l.name}</b>
      <span class="muted">since {dayOf(ms(l.created_at) ?? 0)}</span>
      <Said of={act} />
      <button class="plain" disabled={act.busy.value} aria-label={`Withdraw the link of ${l.name}`} onClick={() => void withdraw()}>Withdraw</button>
    </li>
  );
}

export function MakeLink({ again }: { again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const name = useSignal("");
  const make = async (e: Event): Promise<void> => {
    e.preventDefault();
    const made = await act.send<WallLink>("POST", "/wall-links", { name: name.value.trim() });
    if (!made) return;
    madeLink.value = { name: made.value.name, url: new URL(made.value.path ?? "/", location.origin).href };
    name.value = "";
    await again();
  };
  return (
    <form class="fields" onSubmit={(e) => void make(e)}>
      <label>Where does the screen hang?<input required maxLength={64} placeholder="by the sinks" value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={act.busy.value || name.value.trim() === ""}>Make a link</button>
      <Said of={act} />
    </form>
  );
}

export function LinkOnce(): JSX.Element | null {
  const copied = useSignal("");
  const made = madeLink.value;
  if (!made) return null;
  const copy = async (): Promise<void> => {
    try {
      await navigator.clipboard.writeText(made.url);
      copied.value = "Copied.";
    } catch {
      copied.value = "This browser lets nothing be copied from here: mark the link and copy it by hand.";
    }
  };
  return (
    <div class="once" role="status">
      <p><b>The link for {made.name}.</b> It is shown this once: open it on that screen now.</p>
      <code>{made.url}</code>
      <p class="doors">
        <button class="plain" onClick={() => void copy()}>Copy it</button>
        <a class="button" href={made.url} target="_blank" rel="noreferrer">Open it here, to look</a>
        <button class="plain" onClick={() => (madeLink.value = null)}>Done</button>
      </p>
      {copied.value && <p>{copied.value}</p>}
    </div>
  );
}
