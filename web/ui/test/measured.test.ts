import { describe, expect, it } from "vitest";
import type { MeasuredLevel } from "../src/types";
import { measuredWords } from "../src/words/container";

const now = Date.parse("2026-03-05T10:00:00Z");
const m = (change: Partial<MeasuredLevel>): MeasuredLevel => ({ litres: 12, at: "2026-03-05T09:58:00Z", sensor_litres: 9.8, used: true, ended_at: null, why: "", ...change });

describe("a level measured by hand", () => {
  it.each([
    ["says which of two is used, and why", m({}), ["Measured by hand: 12.0", "The sensor said 9.8", "2.2", "less", "your measurement is used"]],
    ["says that the sensor agrees", m({ sensor_litres: 11.9 }), ["The sensor agrees"]],
    ["says that there is no sensor", m({ sensor_litres: null }), ["No sensor sends a level", "counted on from there"]],
    ["says why it is not used any more", m({ used: false, why: "sensor-moved", ended_at: "2026-03-05T09:59:00Z" }), ["Not used any more: the sensor jumped", "The sensor is used."]],
    ["says that it was too long ago", m({ used: false, why: "too-old", ended_at: "2026-03-05T09:59:00Z" }), ["long after"]],
  ])("%s", (_, level, want) => {
    const words = measuredWords(level, 18.9, "l", now);
    for (const w of want) expect(words).toContain(w);
  });
});
