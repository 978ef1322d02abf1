import { render } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Source } from "../src/api/source";
import { leftWords } from "../src/board/FilmRow";
import { StoreContext } from "../src/context";
import { Store } from "../src/state/store";
import type { Film, FilmLeft, Run, UserRole } from "../src/types";
import { FilmPart } from "../src/unit/FilmPart";
import { filmRemark } from "../src/words/film";
import { T0, at, unit } from "./make";

const left = (change: Partial<FilmLeft> = {}): FilmLeft => ({
  run: "id-1", run_name: "r-1", process: "c41", state: "in-bath", fixed: false, step: "developer", left_at: at(0), act_at: at(120), developer: true, ...change,
});

describe("film that no run goes on with", () => {
  it("says when to drain a developer, and that the time has passed once it has", () => {
    const before = leftWords(left(), T0 + 60_000);
    expect([before.deed, before.left]).toEqual(["Drain developer by hand", "in 1:00"]);
    expect(before.at).toMatch(/^at \d\d:02:00$/);
    const after = leftWords(left(), T0 + 130_000);
    expect([after.at, after.left]).toEqual(["now", ""]);
    expect(after.rest).toContain("That time has passed: hold the rolls for inspection.");
  });
  it("orders no draining where no developer is on it", () => {
    const w = leftWords(left({ step: "bleach", developer: false }), T0);
    expect(w.deed).toBe("Keep the lid closed (dark).");
    expect(leftWords(left({ state: "wet", step: "wash-2", fixed: true, developer: false }), T0).deed).toBe("Finish the wash and dry the film");
  });
  it("says in lists that one film went through several runs", () => {
    const runs = ["r-1", "r-2"].map((run, i) => ({ id: `id-${i + 1}`, run, started_at: at(0), ended_at: null, outcome: "aborted" as const }));
    const film = { runs } as Film;
    expect(filmRemark({ id: "id-1", film } as Run)).toBe("One film: goes on in r-2.");
    expect(filmRemark({ id: "id-2", film } as Run)).toBe("One film: goes on from r-1.");
    expect(filmRemark({ id: "id-9", film: { runs: runs.slice(0, 1) } as Film } as Run)).toBe("");
  });
});

describe("the unit's page", () => {
  let root: HTMLElement;
  let sent: [string, string, unknown][];
  beforeEach(() => {
    root = document.body.appendChild(document.createElement("div"));
    sent = [];
  });
  afterEach(() => {
    render(null, root);
    root.remove();
  });
  const open = async (role: UserRole): Promise<void> => {
    const source = {
      listen: () => ({ check: () => undefined, close: () => undefined }),
      get: (path: string) => Promise.resolve(path.startsWith("/session") ? { setup_needed: false, name: "Ana", role } : {}),
      send: (method: string, path: string, body: unknown) => {
        sent.push([method, path, body]);
        return Promise.resolve({});
      },
    } as unknown as Source;
    const store = new Store(source);
    await store.refreshSession();
    render(<StoreContext.Provider value={store}><FilmPart unit={unit("tern-street/plover", { film: [left()] })} /></StoreContext.Provider>, root);
  };
  it("takes what was done, from those who may", async () => {
    await open("operator");
    [...root.querySelectorAll("button")].find((b) => b.textContent === "Bath drained by hand")?.click();
    await vi.waitFor(() => expect(sent).toEqual([["POST", "/units/tern-street/plover/film", { what: "drained" }]]), { timeout: 5000, interval: 5 });
  });
  it("shows viewers no buttons", async () => {
    await open("viewer");
    expect(root.querySelectorAll("button").length).toBe(0);
    expect(root.textContent).toContain("Operators and leads enter it here.");
  });
});
