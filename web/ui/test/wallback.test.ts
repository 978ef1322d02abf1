import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { BACK_AFTER_MS, followWall, kiosk } from "../src/state/kiosk";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

it("a wall that somebody led to another page is the wall again when nobody has touched it for a while", () => {
  location.hash = "#/wall?key=k";
  followWall(document.documentElement);
  expect(kiosk.value).toBe(true);
  location.hash = "#/alerts";
  dispatchEvent(new HashChangeEvent("hashchange"));
  expect(kiosk.value).toBe(false);
  vi.advanceTimersByTime(BACK_AFTER_MS - 1000);
  dispatchEvent(new Event("pointerdown"));
  vi.advanceTimersByTime(BACK_AFTER_MS - 1000);
  expect(location.hash).toBe("#/alerts");
  vi.advanceTimersByTime(2000);
  expect(location.hash).toBe("#/wall");
});
