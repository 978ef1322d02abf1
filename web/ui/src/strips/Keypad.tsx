import type { JSX } from "preact";

const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "⌫", "0", "next"] as const;

/** Large keys for wet fingers. Three digits are a density, and go on to the next field. */
export function Keypad({ press, label, typed }: { press(key: string): void; label: string; typed: string }): JSX.Element {
  return (
    <div class="keypad" role="group" aria-label={`Keys for ${label}`}>
      <p><span>{label}</span> <span class="num">{typed || "–"}</span></p>
      {KEYS.map((k) => (
        // The field keeps the focus: what is typed on a keyboard goes on going there.
        <button key={k} type="button" onPointerDown={(e) => e.preventDefault()} onClick={() => press(k)} aria-label={{ "⌫": "Delete", next: "Next field" }[k as string] ?? k}>
          {k === "next" ? "Next" : k}
        </button>
      ))}
    </div>
  );
}
