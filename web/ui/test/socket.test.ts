import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { DEAD_AFTER_MS, LiveSocket, retryDelay } from "../src/api/socket";
import type { Frame } from "../src/types";

class FakeSocket {
  onopen: (() => void) | null = null;
  onmessage: ((m: { data: string }) => void) | null = null;
  onclose: (() => void) | null = null;
  closed = false;
  close(): void {
    this.closed = true;
  }
  says(f: Frame): void {
    this.onmessage?.({ data: JSON.stringify(f) });
  }
}

describe("the live socket", () => {
  let made: FakeSocket[] = [];
  let heard: string[] = [];
  let live: LiveSocket;
  const snapshot: Frame = { type: "snapshot", at: "2026-03-01T09:00:00.000Z", units: [], alerts: [] };

  beforeEach(() => {
    vi.useFakeTimers();
    made = [];
    heard = [];
    live = new LiveSocket(
      "ws://x/api/v1/live",
      { frame: (f) => heard.push(f.type), up: () => heard.push("up"), down: () => heard.push("down") },
      {
        open: () => {
          const s = new FakeSocket();
          made.push(s);
          return s as unknown as WebSocket;
        },
        now: () => Date.now(),
        chance: () => 1,
      },
    );
  });
  afterEach(() => {
    live.close();
    vi.useRealTimers();
  });

  it("tries again when it falls, slower each time, and says so", () => {
    made[0]!.onopen?.();
    made[0]!.says(snapshot);
    made[0]!.onclose?.();
    expect(heard).toEqual(["up", "snapshot", "down"]);
    vi.advanceTimersByTime(499);
    expect(made).toHaveLength(1);
    vi.advanceTimersByTime(1);
    expect(made).toHaveLength(2);
    made[1]!.onclose?.();
    vi.advanceTimersByTime(999);
    expect(made).toHaveLength(2);
    vi.advanceTimersByTime(1);
    expect(made).toHaveLength(3);
  });

  it("holds a socket that says nothing for dead, and one that beats for alive", () => {
    made[0]!.says(snapshot);
    for (let i = 0; i < 10; i++) {
      vi.advanceTimersByTime(4000);
      made[0]!.says({ type: "beat", at: "2026-03-01T09:00:00.000Z" });
    }
    expect(heard).not.toContain("down");
    vi.advanceTimersByTime(DEAD_AFTER_MS + 2000);
    expect(heard.at(-1)).toBe("down");
    expect(made[0]!.closed).toBe(true);
  });

  it("hears nothing more of a socket it gave up", () => {
    const first = made[0]!;
    const late = first.onmessage;
    first.onclose?.();
    late?.({ data: JSON.stringify(snapshot) });
    expect(heard).toEqual(["down"]);
  });

  it("notices after a sleep that the socket is dead without waiting for it", () => {
    made[0]!.says(snapshot);
    vi.setSystemTime(Date.now() + 3_600_000);
    live.check();
    expect(heard.at(-1)).toBe("down");
    vi.advanceTimersByTime(500);
    expect(made).toHaveLength(2);
  });

  it("after a sleep opens a new one at once, also when it was waiting to try again", () => {
    made[0]!.says(snapshot);
    vi.setSystemTime(Date.now() + 12_000);
    live.check();
    expect(heard).not.toContain("down");
    live.check(true);
    expect(heard.at(-1)).toBe("down");
    vi.advanceTimersByTime(0);
    expect(made).toHaveLength(2);
    made[1]!.onclose?.();
    live.check(true);
    vi.advanceTimersByTime(0);
    expect(made).toHaveLength(3);
  });

  it("trusts no socket over a clock that was set back", () => {
    made[0]!.says(snapshot);
    vi.setSystemTime(Date.now() - 3_600_000);
    live.check();
    vi.advanceTimersByTime(0);
    expect(made).toHaveLength(2);
  });

  it("is still once closed", () => {
    live.close();
    vi.advanceTimersByTime(120_000);
    expect(made).toHaveLength(1);
  });
});

it("never waits longer than ten seconds between tries", () => {
  for (let n = 0; n < 40; n++) expect(retryDelay(n, 1)).toBeLessThanOrEqual(10_000);
});
