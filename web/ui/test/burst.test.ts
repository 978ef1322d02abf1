import { describe, expect, it } from "vitest";
import { Burst, ENDLESS_AFTER_MS, type Told } from "../src/scan/burst";

/** Feeds keys `gap` ms apart, by one number or by one for each key; gives what came of the last. */
function type(b: Burst, keys: readonly string[], gap: number | readonly number[], from = 1000): { told: Told; t: number } {
  let t = from;
  let told: Told = { is: "none" };
  keys.forEach((key, i) => {
    if (i > 0) t += typeof gap === "number" ? gap : (gap[i - 1] ?? 0);
    told = b.key({ key, t, odd: false });
  });
  return { told, t };
}

const keys = (code: string): string[] => [...code, "Enter"];

describe("a scanner told from a hand", () => {
  // USB HID at full speed polls once in 1 to 10 ms (USB 2.0, 5.7.4: 1 to 255
  // frames of 1 ms, from memory); scanners over Bluetooth send a key in 10 to 30 ms (common practice, no source).
  it.each([1, 8, 20, 34])("keys %i ms apart, with Enter, are a scan", (gap) => {
    expect(type(new Burst(), keys("48213"), gap).told).toEqual({ is: "scan", code: "48213" });
  });
  it("capitals come with a shift key between", () => {
    expect(type(new Burst(), ["Shift", "A", "-", "1", "7", "Enter"], 8).told).toEqual({ is: "scan", code: "A-17" });
  });
  it("a card with a space in it is one scan", () => {
    expect(type(new Burst(), keys("E-6 +1"), 12).told).toEqual({ is: "scan", code: "E-6 +1" });
  });
  // The fastest typists reach 200 words of five letters a minute: 60 ms a key (common practice, no source).
  it.each([60, 90, 150])("keys %i ms apart are typed", (gap) => {
    expect(type(new Burst(), keys("48213"), gap).told).toEqual({ is: "none" });
  });
  it("a hand that rolls over two keys and then presses Enter is a hand", () => {
    expect(type(new Burst(), keys("48213"), [120, 40, 110, 45, 130]).told).toEqual({ is: "none" });
  });
  it("a key held down repeats 30 times a second and is no scan", () => {
    const b = new Burst();
    for (let i = 0; i < 9; i++) b.key({ key: "4", t: 1000 + i * 33, odd: i > 0 });
    expect(b.key({ key: "Enter", t: 1300, odd: false })).toEqual({ is: "none" });
  });
  it("what was typed by hand just before is not part of it", () => {
    const b = new Burst();
    const { t } = type(b, ["4", "8"], 140);
    expect(type(b, keys("60101"), 9, t + 300).told).toEqual({ is: "scan", code: "60101" });
  });
  it("a scan that broke off in its middle is not taken for a shorter one", () => {
    const b = new Burst();
    const { t } = type(b, [..."482"], 9);
    expect(type(b, keys("13"), 9, t + 180).told).toEqual({ is: "broken", code: "482…13" });
  });
  it("what was typed elsewhere just before breaks no scan", () => {
    const b = new Burst();
    [..."pasted"].forEach((key, i) => b.key({ key, t: 1000 + i * 5, odd: false, at: "note" }));
    const last = keys("7001").map((key, i) => b.key({ key, t: 1300 + i * 5, odd: false, at: "search" })).at(-1);
    expect(last).toEqual({ is: "scan", code: "7001" });
  });
  it("a scan without Enter is noticed, and what a hand types is not", () => {
    const b = new Burst();
    const { t } = type(b, [..."48213"], 9);
    expect(b.endless(t + ENDLESS_AFTER_MS - 1)).toBe("");
    expect(b.endless(t + ENDLESS_AFTER_MS)).toBe("48213");
    expect(b.endless(t + 5000)).toBe("");
    const hand = new Burst();
    expect(hand.endless(type(hand, [..."48213"], 90).t + 1000)).toBe("");
  });
});
