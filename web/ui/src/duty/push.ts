// This browser as a phone that takes pages (Push API). Each thing that may be
// missing is told apart: only a refusal of the browser's own is a failure.

import type { PushKey, SubscriptionRequest } from "../types";

export type PushState =
  | { is: "unavailable"; why: string }
  | { is: "denied" }
  | { is: "ready" }
  | { is: "on"; endpoint: string };

interface Browser {
  secure: boolean;
  worker: boolean;
  push: boolean;
  permission: NotificationPermission | "none";
}

export function browserNow(): Browser {
  return {
    secure: globalThis.isSecureContext === true,
    worker: "serviceWorker" in navigator,
    push: "PushManager" in globalThis,
    permission: "Notification" in globalThis ? Notification.permission : "none",
  };
}

/** How things stand, from what server and browser say. */
export function pushState(key: PushKey, b: Browser, endpoint: string | null): PushState {
  if (!key.available) return { is: "unavailable", why: key.why || "this wetside has no push" };
  if (!b.secure) return { is: "unavailable", why: "a browser takes pages only over https (or on the machine itself); ask for the board's https address" };
  if (!b.worker || !b.push || b.permission === "none") {
    return { is: "unavailable", why: "this browser does not take pages; on an iPhone put the board on the home screen first and open it there" };
  }
  if (endpoint !== null) return { is: "on", endpoint };
  return b.permission === "denied" ? { is: "denied" } : { is: "ready" };
}

/** The endpoint by which this browser takes pages now, null for none. */
export async function currentEndpoint(): Promise<string | null> {
  if (!("serviceWorker" in navigator)) return null;
  const worker = await navigator.serviceWorker.getRegistration("/");
  return (await worker?.pushManager?.getSubscription())?.endpoint ?? null;
}

/** Asks the browser to take pages; throws words where it does not. */
export async function subscribe(key: string): Promise<SubscriptionRequest> {
  const may = await Notification.requestPermission();
  if (may !== "granted") throw new Error("This browser was not allowed to show pages. Allow notifications for this address in its settings, then press again.");
  await navigator.serviceWorker.register("/sw.js");
  const worker = await navigator.serviceWorker.ready;
  const old = await worker.pushManager.getSubscription();
  // One made for another key would not open what this server sends.
  if (old && !sameKey(old, key)) await old.unsubscribe();
  const made = await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: fromBase64(key) });
  const json = made.toJSON();
  return { endpoint: made.endpoint, keys: { p256dh: json.keys?.["p256dh"] ?? "", auth: json.keys?.["auth"] ?? "" } };
}

export async function unsubscribe(): Promise<void> {
  const worker = await navigator.serviceWorker.getRegistration("/");
  await (await worker?.pushManager.getSubscription())?.unsubscribe();
}

function sameKey(s: PushSubscription, key: string): boolean {
  const had = s.options.applicationServerKey;
  if (!had) return false;
  const a = new Uint8Array(had);
  const b = fromBase64(key);
  return a.length === b.length && a.every((v, i) => v === b[i]);
}

/** base64url (RFC 4648, section 5), padded or not. */
export function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  const raw = atob(text.replaceAll("-", "+").replaceAll("_", "/").replace(/=+$/, ""));
  return Uint8Array.from(raw, (c) => c.charCodeAt(0));
}

/** What people may call this device, guessed from what the browser says of itself. */
export function deviceName(person: string, agent: string): string {
  const kind = /iPhone|Android.*Mobile/.test(agent) ? "phone" : /iPad|Android|Tablet/.test(agent) ? "tablet" : "computer";
  return `${person}'s ${kind}`;
}
