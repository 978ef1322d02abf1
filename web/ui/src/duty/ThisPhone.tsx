import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Said, Standing } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useSend } from "../shared/useSend";
import { browserNow, currentEndpoint, deviceName, pushState, subscribe, unsubscribe } from "./push";
import type { Contacts } from "./types";
import type { PushKey } from "../types";

/** This phone (or any browser) as a way to be called. `done` is told when it changed. */
export function ThisPhone({ person, contacts, done }: { person: string; contacts: Contacts; done(): Promise<void> }): JSX.Element {
  const store = useStore();
  const { got } = useGet<PushKey>("/push/key", 0);
  const endpoint = useSignal<string | null>(null);
  const device = useSignal(deviceName(person, navigator.userAgent));
  const trouble = useSignal("");
  const act = useSend();
  useEffect(() => {
    void currentEndpoint().then((e) => (endpoint.value = e), () => undefined);
  }, []);
  const key = got.value.value;
  if (!key) return got.value.trouble ? <p class="trouble" role="alert">{got.value.trouble}</p> : <p role="status">One moment…</p>;
  const on = async (): Promise<void> => {
    trouble.value = "";
    act.busy.value = true;
    try {
      const made = await subscribe(key.key);
      if (!(await act.send("POST", "/push/subscriptions", { ...made, device: device.value.trim() }, "This device takes your pages now. Try it below."))) return;
      endpoint.value = made.endpoint;
      if (!contacts.ways.includes("push")) await addWay(store, contacts);
      await done();
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    } finally {
      act.busy.value = false;
    }
  };
  const state = pushState(key, browserNow(), endpoint.value);
  return (
    <div class="stack thisphone">
      {state.is === "unavailable" && <><Standing is="none" word="Unavailable here" /><p>{sentence(state.why)}. Mail and webhook work without it.</p></>}
      {state.is === "denied" && <><Standing is="off" word="Not allowed" /><p>Notifications from this address are switched off in this browser. Allow them in its settings, then come back.</p></>}
      {state.is === "on" && <Standing is="in" word="This device takes your pages" />}
      {(state.is === "ready" || state.is === "on") && (
        <div class="fields">
          <label>What you call this device<input value={device.value} maxLength={100} onInput={(e) => (device.value = e.currentTarget.value)} /></label>
          <button type="button" class={state.is === "on" ? "plain" : "solid"} disabled={act.busy.value} onClick={() => void on()}>{state.is === "on" ? "Enter it again" : "Send my pages to this device"}</button>
        </div>
      )}
      {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
      <Said of={act} />
      <Devices contacts={contacts} done={async () => { if (endpoint.value) endpoint.value = await currentEndpoint(); await done(); }} />
    </div>
  );
}

function Devices({ contacts, done }: { contacts: Contacts; done(): Promise<void> }): JSX.Element | null {
  const act = useSend();
  const list = contacts.push;
  if (list.length === 0) return null;
  const out = async (id: number): Promise<void> => {
    if (!(await act.send("DELETE", `/push/subscriptions/${id}`))) return;
    if (list.length === 1) await unsubscribe().catch(() => undefined);
    await done();
  };
  return (
    <>
      <ul class="lines">
        {list.map((p) => <li key={p.id}><span>{p.device || "A device"}</span><button type="button" class="plain" disabled={act.busy.value} aria-label={`Remove ${p.device || "this device"}`} onClick={() => void out(p.id)}>Remove</button></li>)}
      </ul>
      <Said of={act} />
    </>
  );
}

/** A phone that is entered but not among the ways would never ring. */
async function addWay(store: ReturnType<typeof useStore>, c: Contacts): Promise<void> {
  await store.act("PUT", `/people/${encodeURIComponent(c.person)}/contacts`, { ways: ["push", ...c.ways], mail: c.mail, webhook: c.webhook, webhook_secret: "" });
}

const sentence = (s: string): string => s.charAt(0).toUpperCase() + s.slice(1).replace(/\.$/, "");
