import { signal } from "@preact/signals";

// A wall is opened by a link with a key in it, #/wall?key=KEY, that lets it see
// and nothing else, and that a lead can withdraw. The key is traded for a
// session; it is taken out of the address so that nobody reads it off the wall.

const HELD = "wetside.wall-key";

/** The page is a wall: nothing to press but the way to the pages, no pointer, no sleep. */
export const kiosk = signal(false);

let key = "";

/** The key of this wall, "" where it has none. */
export const wallKey = (): string => key;

/** Reads a wall's link; null where the address is none. */
export function readWall(hash: string): { key: string } | null {
  const m = /^#\/?wall(?:\?(.*))?$/.exec(hash);
  return m ? { key: new URLSearchParams(m[1] ?? "").get("key") ?? "" } : null;
}

/** Looks at the address once, before anything is asked of the server. */
export function followWall(root: HTMLElement): void {
  const look = (): void => {
    const wall = readWall(location.hash);
    if (wall === null) return;
    if (wall.key) {
      key = wall.key;
      remember(key);
      history.replaceState(history.state, "", "#/wall");
    } else key ||= recall();
    kiosk.value = true;
    root.dataset["wall"] = "yes";
    void stayAwake();
  };
  look();
  addEventListener("hashchange", () => {
    if (readWall(location.hash)) return look();
    kiosk.value = false;
    delete root.dataset["wall"];
    if (key) comeBack();
  });
}

/** A screen on a wall is the wall again when nobody has touched it for so long. */
export const BACK_AFTER_MS = 120_000;

/** Goes back to the wall once nobody touches the page any more. */
function comeBack(): void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const touched = ["pointerdown", "pointermove", "keydown", "wheel", "scroll"] as const;
  const wait = (): void => {
    clearTimeout(timer);
    timer = setTimeout(() => (location.hash = "#/wall"), BACK_AFTER_MS);
  };
  const done = (): void => {
    if (!readWall(location.hash)) return;
    clearTimeout(timer);
    for (const e of touched) removeEventListener(e, wait, true);
    removeEventListener("hashchange", done);
  };
  for (const e of touched) addEventListener(e, wait, { capture: true, passive: true });
  addEventListener("hashchange", done);
  wait();
}

function remember(k: string): void {
  try {
    sessionStorage.setItem(HELD, k);
  } catch {
    // No storage here: a reload needs the link again.
  }
}

function recall(): string {
  try {
    return sessionStorage.getItem(HELD) ?? "";
  } catch {
    return "";
  }
}

/** Keeps the screen on where the browser lets a page do so; taken anew after each time it was hidden. */
async function stayAwake(): Promise<void> {
  const take = async (): Promise<void> => {
    if (document.visibilityState !== "visible" || !kiosk.peek()) return;
    try {
      await navigator.wakeLock?.request("screen");
    } catch {
      // Not allowed here (no HTTPS, or the battery is low): the screen's own settings have to do.
    }
  };
  document.addEventListener("visibilitychange", () => void take());
  await take();
}
