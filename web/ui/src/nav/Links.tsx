import type { JSX } from "preact";
import { useStore } from "../context";
import { route } from "../route";
import type { BooksUsed } from "../types";
import { useGet } from "../shared/useGet";
import { FiguresMark } from "../shared/FiguresNotice";
import { belongsTo, navPages } from "./pages";

const BOOKS_MS = 600_000;

/** The ways to all pages; the page that is shown is marked. */
export function Links({ onGo }: { onGo?(): void }): JSX.Element {
  const here = belongsTo(route.value);
  const { got } = useGet<BooksUsed>("/books", BOOKS_MS);
  const books = got.value.value;
  return (
    <>
      {navPages.filter((p) => !p.book || books?.[p.book] === true || here === p.to).map((p) => (
        <a key={p.to} href={`#/${p.to}`} data-rank={p.rank} aria-current={here === p.to ? "page" : undefined} onClick={onGo}>
          {p.name}
          {p.to === "alerts" && <OpenAlerts />}
          {p.to === "start" && <FiguresMark />}
        </a>
      ))}
    </>
  );
}

/** How many alerts are open; on ink while one of them is not acknowledged. */
function OpenAlerts(): JSX.Element | null {
  const { all, loud } = useStore().open.value;
  if (all === 0) return null;
  return (
    <>
      {" "}
      <b class={loud > 0 ? "opencount loud" : "opencount"}><span class="num">{all}</span><span class="unseen"> open{loud > 0 ? `, ${loud} not acknowledged` : ""}</span></b>
    </>
  );
}
