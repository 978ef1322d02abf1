import type { JSX } from "preact";
import { signal, useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { wayWord } from "../words/alert";
import { PageTestPart } from "./PageTestPart";
import { forward } from "./plan";
import { ThisPhone } from "./ThisPhone";
import type { Contacts } from "./types";

const all = ["push", "webhook", "mail"];

/** The key that the last answer made: it is told once, so it outlives the form that asked for it. */
export const secretOnce = signal<{ person: string; secret: string } | null>(null);

/** How oneself is reached: this phone, mail, a webhook; and whether it works. */
export function ContactsPart({ person }: { person: string }): JSX.Element {
  const path = `/people/${encodeURIComponent(person)}/contacts`;
  const { got, again } = useGet<Contacts>(path, 60_000);
  const c = got.value.value;
  return (
    <>
      <Part title="How you are reached" note="Only you and the leads see this.">
        <Waiting got={got.value} again={again} what="Your contacts" />
        {c && (
          <>
            <h3>This device</h3>
            <ThisPhone person={person} contacts={c} done={again} />
            <h3>Mail, webhook, and what is tried first</h3>
            <ContactsForm key={JSON.stringify([c.ways, c.mail, c.webhook])} c={c} path={path} again={again} />
          </>
        )}
      </Part>
      {c && <PageTestPart person={person} ways={c.ways} />}
    </>
  );
}

export function ContactsForm({ c, path, again }: { c: Contacts; path: string; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const may = useMay();
  const mailOff = useMailOff();
  const mail = useSignal(c.mail);
  const hook = useSignal(c.webhook);
  const own = useSignal("");
  const ways = useSignal([...c.ways, ...all.filter((w) => !c.ways.includes(w))]);
  const on = useSignal(new Set(c.ways));
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    // A way that was just typed in is meant to be used.
    const use = (w: string): boolean => on.value.has(w) || (w === "mail" && c.mail === "" && mail.value.trim() !== "") || (w === "webhook" && c.webhook === "" && hook.value.trim() !== "");
    const body = { ways: ways.value.filter(use), mail: mail.value.trim(), webhook: hook.value.trim(), webhook_secret: own.value.trim() };
    const made = await act.send<Contacts>("PUT", path, body, "Saved.");
    if (!made) return;
    if (made.value.webhook_secret) secretOnce.value = { person: c.person, secret: made.value.webhook_secret };
    await again();
  };
  return (
    <form class="stack" onSubmit={(e) => void save(e)}>
      <label class="grow">Mail<input type="email" value={mail.value} autocomplete="email" placeholder="you@lab.example" onInput={(e) => (mail.value = e.currentTarget.value)} /></label>
      {mailOff && <p class="muted"><b>Mail cannot be sent yet:</b> {mailOff}. An address entered now counts from then on.</p>}
      <label class="grow">Webhook, for an SMS or voice service<input type="url" value={hook.value} placeholder="https://" readOnly={!may.set && hook.value !== "" && hook.value === c.webhook} disabled={!may.set && c.webhook === ""} onInput={(e) => (hook.value = e.currentTarget.value)} /></label>
      {!may.set && <p class="muted">A lead sets the address of a webhook: wetside calls it from inside the lab's network.</p>}
      {c.webhook_off && <Standing is="out" word="The webhook was switched off: its other end said that it is gone. Save it again to switch it on." />}
      {hook.value !== "" && (
        <details>
          <summary>{c.webhook_signed ? "Give it another key" : "Sign it with a key of your own"}</summary>
          <label class="grow">Key, whsec_… (left empty: {c.webhook_signed ? "the one there is" : "one is made"})<input value={own.value} autocomplete="off" onInput={(e) => (own.value = e.currentTarget.value)} /></label>
        </details>
      )}
      <SecretOnce person={c.person} />
      <fieldset>
        <legend>Tried in this order, until one works</legend>
        <ol class="onlist">
          {ways.value.map((w, i) => (
            <li key={w}>
              <label class="tick">
                <input type="checkbox" checked={on.value.has(w)} onChange={(e) => {
                  const next = new Set(on.value);
                  if (e.currentTarget.checked) next.add(w);
                  else next.delete(w);
                  on.value = next;
                }} />
                <b class="num">{i + 1}</b> {wayWord(w)}
              </label>
              {i > 0 && <button type="button" class="plain" aria-label={`Try ${wayWord(w)} sooner`} onClick={() => (ways.value = forward(ways.value, i))}>Sooner</button>}
            </li>
          ))}
        </ol>
      </fieldset>
      <Said of={act} />
      <button class="solid" disabled={act.busy.value}>Save</button>
    </form>
  );
}

/** Why this wetside can send no mail; "" where it can, or where that is not known. */
function useMailOff(): string {
  const mail = useStore().duty.status.value?.mail;
  return mail && !mail.available ? mail.why : "";
}

function SecretOnce({ person }: { person: string }): JSX.Element | null {
  const made = secretOnce.value;
  if (made?.person !== person) return null;
  const copy = (): void => void navigator.clipboard?.writeText(made.secret).catch(() => undefined);
  return (
    <div class="once" role="status">
      <p><b>The key that signs {person}'s webhook.</b> It is shown this once: put it into the service now.</p>
      <code>{made.secret}</code>
      <p class="doors">
        <button type="button" class="plain" onClick={copy}>Copy it</button>
        <button type="button" class="plain" onClick={() => (secretOnce.value = null)}>I have it</button>
      </p>
    </div>
  );
}
