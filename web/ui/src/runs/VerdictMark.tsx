import type { JSX } from "preact";
import { standingWords, type Standing } from "../words/verdict";

// Ours alone: a ring for what was kept, a diamond to look at, a triangle for
// what is far off, a frame with the needle in it for what goes on.
const shapes: Record<Standing, JSX.Element> = {
  "in-control": <circle cx="12" cy="12" r="8.5" class="line" />,
  inspect: <path d="M12 1.5 22.500 12 12 22.500 1.500 12Z" class="solid" />,
  "out-of-control": <path d="M12 2 23 21.500H1Z" class="solid" />,
  running: (
    <>
      <path d="M2 6H22V18H2Z" class="line" />
      <path d="M11 3V21" class="line" />
    </>
  ),
  unjudged: <path d="M3 12H21" class="line dashed" />,
};

interface Props {
  standing: Standing;
  words?: boolean;
}

/** A verdict as shape and word, so that nobody has to tell colours apart. */
export function VerdictMark({ standing, words = true }: Props): JSX.Element {
  return (
    <span class={`vmark ${standing}`}>
      <svg viewBox="0 0 24 24" aria-hidden="true">{shapes[standing]}</svg>
      {words ? <b>{standingWords[standing]}</b> : <span class="unseen">{standingWords[standing]}</span>}
    </span>
  );
}
