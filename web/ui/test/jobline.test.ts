import { describe, expect, it } from "vitest";
import { placeLabels } from "../src/board/jobline";
import { apart, crowds, needs, type Need } from "../src/board/jobs";
import { onCallNow } from "../src/board/oncall";
import { T0 } from "./make";

/** Numbers from 0 to below 1, the same in each run (a linear congruential generator). */
function dealer(seed: number): () => number {
  let x = seed >>> 0;
  return () => (x = (Math.imul(x, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

describe("the words under the job line", () => {
  // Letters of a wall, a desk, one column and a phone as part of the line.
  it.each([0.0085, 0.0075, 0.008, 0.022])("never lie on each other (%f a letter)", (em) => {
    const deal = dealer(7);
    let told = 0;
    for (let i = 0; i < 3000; i++) {
      const list = Array.from({ length: 2 + Math.floor(deal() * 14) }, (_, k): Need => ({ unit: `l/${k}`, what: "to-dryer", due: T0 + (deal() * 32 - 1) * 60_000 })).sort((a, b) => a.due - b.due);
      const near = crowds(list.filter((n) => n.due <= T0 + 1_800_000));
      const labels = placeLabels(near, T0, em, em > 0.02 ? 10 : 5).sort((a, b) => a.from - b.from);
      labels.forEach((l, j) => {
        expect(l.from).toBeGreaterThanOrEqual(-1e-9);
        expect(l.to).toBeLessThanOrEqual(1 + 1e-9);
        const next = labels[j + 1];
        if (next) expect(next.from - l.to).toBeGreaterThan(0);
      });
      told += labels.filter((l) => l.crowd).length;
    }
    expect(told).toBeGreaterThan(1000);
  });
  it("say the whole of a crowd that stands alone, and the minutes beside it", () => {
    const near = crowds([10, 11, 11.5].map((m, i) => ({ unit: `l/${i}`, what: "to-dryer", due: T0 + m * 60_000 })));
    expect(placeLabels(near, T0, 0.0085, 5).map((l) => l.text)).toEqual(["3 units within 2 minutes", "now", "5", "20", "25", "30 min"]);
  });
});

it("units that can be loaded stand apart from where a person is needed", () => {
  const due = new Date(T0).toISOString();
  const all = needs([{ unit: "l/a", what: "ready to load", due_at: due, patient: true }, { unit: "l/b", what: "fetch film from the dryer", due_at: due }, { unit: "l/c", what: "start the loaded run", due_at: due, patient: true }], []);
  expect(apart(all)).toEqual({ jobs: [{ unit: "l/b", what: "fetch film from the dryer", due: T0 }, { unit: "l/c", what: "start the loaded run", due: T0, patient: true }], ready: ["l/a"] });
});

it("who is on call: those of now, who is called first first, with whom no page reaches", () => {
  const p = (name: string, place: number, from: string | null, reachable = true): never => ({ name, place, from, ways: [], reachable, why: "" }) as never;
  expect(onCallNow({ on: ["Wren"], on_call: [p("Robin", 2, null, false), p("Wren", 1, null), p("Ana", 1, "2026-11-24T20:00:00Z")] })).toEqual([{ name: "Wren", reachable: true }, { name: "Robin", reachable: false }]);
  expect(onCallNow({ on: [], on_call: [] })).toEqual([]);
  expect(onCallNow(null)).toBeNull();
});
