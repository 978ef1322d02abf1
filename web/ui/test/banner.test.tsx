import { render } from "preact";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Refusal, type Listener, type Source } from "../src/api/source";
import { Banner } from "../src/board/Banner";
import { StoreContext } from "../src/context";
import { Store } from "../src/state/store";
import { unit } from "./make";

let root: HTMLElement;
beforeEach(() => { root = document.body.appendChild(document.createElement("div")); });
afterEach(() => { render(null, root); root.remove(); });

const away = "standing by: the database does not answer, since 14:02 UTC. No telemetry is received and no alert is raised until it is back; the units and the broker keep what is sent.";

// While the database is away wetside answers 503 with why: the board keeps what
// it has and says so.
it("says why wetside shows nothing, and keeps what it has", async () => {
  let on: Listener | undefined;
  let fails = false;
  const source = {
    listen: (l: Listener) => { on = l; l.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover", { name: "Plover" })], alerts: [] }); return { check: () => undefined, close: () => undefined }; },
    get: (path: string) => (fails ? Promise.reject(new Refusal(503, away)) : Promise.resolve(path.startsWith("/session") ? { setup_needed: false, name: "Ana", role: "lead" } : {})),
    send: () => Promise.resolve({}),
  } as unknown as Source;
  const store = new Store(source);
  await store.refreshSession();
  render(<StoreContext.Provider value={store}><Banner /></StoreContext.Provider>, root);
  fails = true;
  on?.down();
  await vi.waitFor(() => expect(root.textContent).toContain("The database does not answer, since 14:02 UTC — what you see is old"), { timeout: 5000, interval: 5 });
  expect(root.textContent).toContain("Watch the units themselves.");
  expect(store.unit("tern-street/plover")?.value.unit.name).toBe("Plover");
  fails = false;
  on?.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover")], alerts: [] });
  await vi.waitFor(() => expect(root.querySelector(".banner.none")).not.toBeNull(), { timeout: 5000, interval: 5 });
});
