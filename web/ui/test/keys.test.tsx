import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Refusal, type Source } from "../src/api/source";
import { StoreContext } from "../src/context";
import { subject } from "../src/route";
import { SettingsPage } from "../src/settings/SettingsPage";
import { Store } from "../src/state/store";
import type { UserRole } from "../src/types";
import { unit } from "./make";

let root: HTMLElement;
let store: Store;
let sent: [string, string, unknown][];
let users: { name: string; role: UserRole }[];
let tokens: Record<string, unknown>[];
let keys: { unit: string; created_at: string }[];
let refusal: Refusal | null;

const made = "2026-11-20T10:00:00Z";

/** What a server does that holds people, tokens and keys. */
function answer(method: string, path: string, body: unknown): unknown {
  if (refusal) throw refusal;
  const [, kind, ...rest] = path.split("/");
  const name = decodeURIComponent(rest[0] ?? "");
  const b = (body ?? {}) as Record<string, string>;
  switch (`${method} ${kind}`) {
    case "GET users": return { users };
    case "GET tokens": return { tokens };
    case "GET unit-keys": return { keys };
    case "PATCH users": users = users.map((u) => (u.name === name ? { ...u, role: b.role as UserRole } : u)); return {};
    case "DELETE users": users = users.filter((u) => u.name !== name); return {};
    case "POST tokens": tokens = [...tokens, { name: b.name, role: b.role, created_at: made, expires_at: null, last_used_at: null }]; return { ...tokens.at(-1), token: "wt_shown-once" };
    case "DELETE tokens": tokens = tokens.filter((t) => t.name !== name); return {};
    case "POST units": keys = [...keys.filter((k) => k.unit !== `${rest[0]}/${rest[1]}`), { unit: `${rest[0]}/${rest[1]}`, created_at: made }]; return { unit: `${rest[0]}/${rest[1]}`, key: `key-${sent.length}` };
    case "DELETE units": keys = keys.filter((k) => k.unit !== `${rest[0]}/${rest[1]}`); return {};
    default: return {};
  }
}

async function open(part: string): Promise<void> {
  subject.value = part;
  const source: Source = {
    listen(on) {
      on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover", { name: "Plover" })], alerts: [] });
      return { check: () => undefined, close: () => undefined };
    },
    async get<T>(path: string): Promise<T> {
      if (path === "/session") return { setup_needed: false, name: "Ana", role: "lead" } as T;
      if (path === "/next-jobs") return { jobs: [] } as T;
      return answer("GET", path, undefined) as T;
    },
    async send<T>(method: string, path: string, body?: unknown): Promise<T> {
      sent.push([method, path, body]);
      return answer(method, path, body) as T;
    },
  };
  store = new Store(source);
  await store.refreshSession();
  render(<StoreContext.Provider value={store}><SettingsPage /></StoreContext.Provider>, root);
}

const text = (): string => root.textContent ?? "";
const shown = (want: string): Promise<void> => vi.waitFor(() => expect(text()).toContain(want), { timeout: 3000, interval: 5 });
const gone = (what: string): Promise<void> => vi.waitFor(() => expect(text()).not.toContain(what), { timeout: 3000, interval: 5 });
function button(words: string): HTMLButtonElement {
  const b = [...root.querySelectorAll("button")].find((x) => (x.getAttribute("aria-label") ?? x.textContent ?? "").includes(words));
  if (!b) throw new Error(`no button says ${words}`);
  return b;
}
function field(label: string, value: string): HTMLInputElement {
  const l = [...root.querySelectorAll("label")].find((x) => (x.textContent ?? "").startsWith(label));
  const input = l?.querySelector<HTMLInputElement>("input, select");
  if (!input) throw new Error(`no field is called ${label}`);
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  input.dispatchEvent(new Event("change", { bubbles: true }));
  return input;
}
const submit = (input: HTMLInputElement): boolean | undefined => input.form?.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  sent = [];
  refusal = null;
  users = [{ name: "Ana", role: "lead" }, { name: "Wren", role: "operator" }];
  tokens = [{ name: "till", role: "viewer", created_at: made, expires_at: "2027-11-20T10:00:00Z", last_used_at: null }];
  keys = [{ unit: "tern-street/plover", created_at: made }];
});
afterEach(() => {
  render(null, root);
  root.remove();
  store.disconnect();
  vi.unstubAllGlobals();
});

describe("people", () => {
  it("change role, get a new password and lose their links by a lead's press", async () => {
    await open("people");
    await shown("Wren");
    field("New password for Wren", "correct horse 9");
    submit(field("New password for Wren", "correct horse 9"));
    await shown("Wren signs in with the new password");
    root.querySelectorAll<HTMLSelectElement>("select")[1]!.value = "viewer";
    root.querySelectorAll<HTMLSelectElement>("select")[1]!.dispatchEvent(new Event("change", { bubbles: true }));
    await shown("Wren is viewer now.");
    await vi.waitFor(() => expect(button("Set it").disabled).toBe(false));
    [...root.querySelectorAll("button")].filter((b) => b.textContent === "Withdraw page links")[1]!.click();
    await shown("The links in pages sent until now are withdrawn.");
    expect(sent).toEqual([
      ["POST", "/users/Wren/password", { password: "correct horse 9" }],
      ["PATCH", "/users/Wren", { role: "viewer" }],
      ["POST", "/page-links/withdraw", { person: "Wren" }],
    ]);
  });
  it("are taken out only after it was asked, and nobody takes out themselves", async () => {
    await open("people");
    await shown("Wren");
    expect([...root.querySelectorAll("button")].some((b) => b.textContent === "Remove Ana")).toBe(false);
    const asked = vi.fn<(words: string) => boolean>().mockReturnValueOnce(false).mockReturnValueOnce(true);
    vi.stubGlobal("confirm", asked);
    button("Remove Wren").click();
    expect(sent).toEqual([]);
    button("Remove Wren").click();
    await gone("Wren");
    expect(asked.mock.calls[0]?.[0]).toContain("stays in the books");
    expect(sent).toEqual([["DELETE", "/users/Wren", undefined]]);
  });
  it("show the server's refusal where it was pressed", async () => {
    await open("people");
    await shown("Wren");
    refusal = new Refusal(409, "Ana is the last lead; make somebody else a lead first");
    root.querySelector<HTMLSelectElement>("select")!.value = "viewer";
    root.querySelector<HTMLSelectElement>("select")!.dispatchEvent(new Event("change", { bubbles: true }));
    await shown("Ana is the last lead");
  });
});

describe("keys", () => {
  it("show a token once, and take it back", async () => {
    await open("keys");
    await shown("till");
    submit(field("What is it for?", "order desk"));
    await shown("wt_shown-once");
    expect(sent[0]).toEqual(["POST", "/tokens", { name: "order desk", role: "viewer", days: 365 }]);
    button("Done").click();
    await gone("wt_shown-once");
    button("Withdraw the token till").click();
    await gone("till");
    expect(text()).toContain("order desk");
  });
  it("of a unit are made, replaced and withdrawn", async () => {
    await open("keys");
    await shown("tern-street/plover");
    submit(field("Unit, as lab/unit", "tern-street/heron"));
    await shown("The key of tern-street/heron. It is shown this once");
    button("Replace the key of tern-street/plover").click();
    await shown("The key of tern-street/plover. It is shown this once");
    button("Withdraw the key of tern-street/heron").click();
    await shown("its connection ends.");
    expect(sent.map(([m, p]) => `${m} ${p}`)).toEqual(["POST /units/tern-street/heron/key", "POST /units/tern-street/plover/key", "DELETE /units/tern-street/heron/key"]);
    expect(keys.map((k) => k.unit)).toEqual(["tern-street/plover"]);
  });
});
