import { describe, expect, it } from "vitest";
import { age, clockSpan, ms } from "../src/words/time";
import { limits, temperature } from "../src/words/measure";
import { pushName, segmentNames, stepWords } from "../src/words/steps";

describe("times in words", () => {
  it.each([
    [66, "1:06"],
    [0, "0:00"],
    [-3, "0:00"], // never below zero: what is over is said in words
    [59.2, "1:00"], // rounded up, so that 0:00 means it is over
    [3725, "1:02:05"],
  ])("%s s left reads %s", (s, text) => expect(clockSpan(s)).toBe(text));

  it.each([[24.9, "24 s"], [61, "1 min"], [7300, "2 h"], [200000, "2 days"]])("%s s old reads %s", (s, text) =>
    expect(age(s)).toBe(text));

  it("takes no time for none", () => {
    expect(ms(null)).toBeNull();
    expect(ms("yesterday")).toBeNull();
    expect(ms("2026-03-01T09:30:00.000Z")).toBe(Date.UTC(2026, 2, 1, 9, 30));
  });
});

describe("degrees", () => {
  // Kodak Z-131 gives the C-41 developer both ways: 37.8 °C ±0.15 is 100.0 °F ±0.25.
  it("agrees with the two forms that Z-131 prints", () => {
    expect(temperature(37.8, "F")).toBe("100.0\u00a0°F");
    expect(temperature(37.8, "C")).toBe("37.8\u00a0°C");
    expect(limits(37.65, 37.95, "C")).toBe("37.65–37.95");
    expect(limits(24, 41, "C")).toBe("24–41");
  });
});

describe("steps", () => {
  it("shortens by the trade's words", () => {
    expect(segmentNames("first-developer")).toEqual(["first developer", "first dev", "1st dev"]);
    expect(segmentNames("wash-2")).toEqual(["wash"]);
  });
  it("keeps the label of a lab's own step", () => expect(stepWords("hypo-clear", "hypo clear").full).toBe("Hypo clear"));
  it.each([[0, ""], [1, "+1"], [-1, "−1"], [0.5, "+½"], [1 / 3, "+⅓"], [1.5, "+1½"], [0.4, "+0.40"]])("push %s is %s", (v, text) =>
    expect(pushName(v)).toBe(text));
});
