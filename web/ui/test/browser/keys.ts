import type { Page } from "../../scripts/chromium.mjs";

const codes: Record<string, { key: string; text: string; code: string }> = {
  "\n": { key: "Enter", text: "\r", code: "Enter" },
  " ": { key: " ", text: " ", code: "Space" },
};

/** The codes of letters, digits, Enter and space are those of the characters; others have none here. */
const virtual = (text: string): object => (/[A-Za-z0-9\r ]/.test(text) ? { windowsVirtualKeyCode: text.toUpperCase().charCodeAt(0) } : {});

/** When the last key was pressed: the next burst comes well after it. */
let last = 0;

/**
 * Presses keys `gap` ms apart, as their times tell: sent in one go, so that no
 * slow machine stretches a scan, with the times written on the events.
 */
export async function press(page: Page, text: string, gap: number): Promise<void> {
  let at = Math.max((Date.now() - text.length * gap) / 1000, last + 2);
  const all: Promise<unknown>[] = [];
  for (const c of text) {
    const k = codes[c] ?? { key: c, text: c, code: "" };
    all.push(page.send("Input.dispatchKeyEvent", { type: "keyDown", ...k, ...virtual(k.text), timestamp: at }));
    all.push(page.send("Input.dispatchKeyEvent", { type: "keyUp", key: k.key, code: k.code, ...virtual(k.text), timestamp: at + gap / 2000 }));
    last = at;
    at += gap / 1000;
  }
  await Promise.all(all);
}

/** What a scanner does: a key each 8 ms, Enter behind them. */
export const scan = (page: Page, code: string): Promise<void> => press(page, `${code}\n`, 8);

/** What a hand does: 140 ms between keys. */
export const type = (page: Page, text: string): Promise<void> => press(page, text, 140);
