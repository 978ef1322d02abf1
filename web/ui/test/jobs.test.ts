import { describe, expect, it } from "vitest";
import { crowds, needs, type Need } from "../src/board/jobs";
import { crowdWords, tickets } from "../src/board/queue";
import { jobName } from "../src/words/steps";
import { at, run, T0, unit } from "./make";

const need = (name: string, minutes: number): Need => ({ unit: `l/${name}`, what: "to-dryer", due: T0 + minutes * 60_000 });

describe("next jobs", () => {
  it("adds the end of a run that the server does not mention, once", () => {
    const wet = unit("l/heron", { activity: "running", run: run([], { ends_at: at(600) }) });
    expect(needs([], [wet])).toEqual([{ unit: "l/heron", what: "to-dryer", due: T0 + 600_000 }]);
    expect(needs([{ unit: "l/heron", what: "to-dryer", due_at: at(610) }], [wet])).toHaveLength(1);
  });

  it("marks several units within two minutes, not one unit twice", () => {
    const list = [need("a", 5), need("b", 6), need("c", 6.9), need("d", 20), need("d", 20.5)];
    expect(crowds(list)).toEqual([{ from: T0 + 5 * 60_000, to: T0 + 6.9 * 60_000, units: 3 }]);
  });
});

describe("the tickets of next jobs", () => {
  it("counts up to the next whole minute, says now for what is due, and leaves out what is later than half an hour", () => {
    const list = [need("late", -3), need("soon", 0.2), need("a", 5), need("far", 31)];
    const got = tickets(list, crowds(list), T0);
    expect(got.map((t) => [t.unit, t.when, t.overdue])).toEqual([["l/late", "now", true], ["l/soon", "1 min", false], ["l/a", "5 min", false]]);
  });

  it("marks those that come too close", () => {
    const list = [need("a", 5), need("b", 6), need("c", 6.9), need("d", 20)];
    const near = crowds(list);
    expect(tickets(list, near, T0).map((t) => t.crowd)).toEqual([0, 0, 0, -1]);
    expect(crowdWords(near[0]!)).toBe("3 units within 2 minutes");
  });
});

// On the left what the engine says, rules/words.go and rules/jobs.go.
describe("a job in short words", () => {
  it.each([
    ["reels to the dryer", "to dryer"], ["to-dryer", "to dryer"], ["empty the waste", "empty waste"], ["top up the wash water", "top up wash"], ["chemistry is needed", "chemistry"],
    ["end developer early", "end dev"], ["end color developer late", "end col dev"], ["drain first developer by hand", "drain 1st dev"], ["drain developer, hold the rolls", "drain dev"],
    ["do bleach again", "bleach again"], ["see developer end", "dev ends"], ["empty waste-2", "empty waste 2"],
  ])("%s: %s", (said, want) => expect(jobName(said)).toBe(want));
});
