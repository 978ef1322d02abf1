import type { ComponentChildren, JSX } from "preact";
import type { Got } from "./useGet";
import type { Sending } from "./useSend";
import "./shared.css";

interface PartProps {
  title: string;
  children: ComponentChildren;
  /** What the part is for, in the margin under its title. */
  note?: ComponentChildren;
  class?: string;
}

/** A part of a page: its title in the margin, its content beside it. */
export function Part({ title, note, children, class: more = "" }: PartProps): JSX.Element {
  return (
    <section class={`bit ${more}`} aria-label={title}>
      <div class="margin">
        <h2>{title}</h2>
        {note && <p class="muted">{note}</p>}
      </div>
      <div class="body">{children}</div>
    </section>
  );
}

/** Shown while the first answer is awaited, or where it cannot be had. */
export function Waiting<T>({ got, again, what }: { got: Got<T>; again(): Promise<void>; what: string }): JSX.Element | null {
  if (got.trouble) {
    return (
      <div class="waiting">
        <p class="trouble" role="alert">{what} could not be read: {got.trouble}{got.value !== null && " What you see is from before."}</p>
        <button class="plain" onClick={() => void again()}>Try again</button>
      </div>
    );
  }
  return got.value === null ? <p class="waiting" role="status">One moment…</p> : null;
}

/** What became of a change: refused in words, or done. */
export function Said({ of }: { of: Pick<Sending, "trouble" | "done"> }): JSX.Element | null {
  if (of.trouble.value) return <p class="trouble" role="alert">{of.trouble.value}</p>;
  return of.done.value ? <p class="said" role="status">✓ {of.done.value}</p> : null;
}

export type Stand = "in" | "out" | "soon" | "none" | "off";

const stands: Record<Stand, JSX.Element> = {
  in: <circle cx="12" cy="12" r="8.5" class="line" />,
  out: <path d="M12 1.5 22.500 12 12 22.500 1.500 12Z" class="solid" />,
  soon: <path d="M3 5H21L12 12L21 19H3L12 12Z" class="line" />,
  off: <path d="M4 4 20 20M20 4 4 20" class="line" />,
  none: <path d="M3 12H21" class="line dashed" />,
};

/** How something stands: a shape, and the word that says the same. */
export function Standing({ is, word }: { is: Stand; word: string }): JSX.Element {
  return (
    <span class={`standing ${is}`}>
      <svg viewBox="0 0 24 24" aria-hidden="true">{stands[is]}</svg>
      <b>{word}</b>
    </span>
  );
}
