import { expect, test } from "vitest";
import { readWant, twinCheck } from "../src/load/rolls";
import { processIds } from "../src/runs/query";

/** Numbers from 0 to below 1, the same in each run (a linear congruential generator). */
function dealer(seed: number): () => number {
  let x = seed >>> 0;
  return () => (x = (Math.imul(x, 1664525) + 1013904223) >>> 0) / 2 ** 32;
}

const pieces = [
  "c41", "C-41", "E-6", "bw", "e6-3", "48213", "A-17", "-", "−", "+", "1", "9", ".5", " ", "\t", "\r\n", "\u0000", "]C1", "=", "@", ",", ";", "\"", "<b>",
  "ﬀ", "ß", "ı", "٣", "\ud800", "\u202e", "🎞", "e308", "NaN", "Infinity", "9".repeat(40),
];

function typed(deal: () => number): string {
  return Array.from({ length: Math.floor(deal() * 6) }, () => pieces[Math.floor(deal() * pieces.length)]).join("");
}

test("whatever a scanner types is a twin check in one form, a card, or neither", () => {
  const deal = dealer(41);
  let checks = 0;
  let wants = 0;
  for (let i = 0; i < 50_000; i++) {
    const code = typed(deal);
    const check = twinCheck(code);
    if (check !== null) {
      checks++;
      expect(check, code).toMatch(/^[A-Z0-9](?:[A-Z0-9-]{0,30}[A-Z0-9])?$/);
      expect(twinCheck(check)).toBe(check);
    }
    const want = readWant(code);
    if (want !== null) {
      wants++;
      expect(processIds).toContain(want.process);
      expect(Math.abs(want.push), code).toBeLessThanOrEqual(6);
    }
  }
  expect(checks).toBeGreaterThan(1000);
  expect(wants).toBeGreaterThan(100);
});

test("a push that no process has is no card", () => {
  expect(readWant("c41 +6")).toEqual({ process: "c41", push: 6 });
  expect(readWant("c41 -1.5")).toEqual({ process: "c41", push: -1.5 });
  expect(readWant("c41 +7")).toBeNull();
  expect(readWant("c41 \u2212 2")).toEqual({ process: "c41", push: -2 });
});
