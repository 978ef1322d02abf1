import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useStore } from "../context";
import { Part, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { logWord } from "../words/duty";
import { moment, ms } from "../words/time";
import type { DutyRecord } from "../types";

/** Who changed what about duty and pages, newest first. */
export function DutyLog({ stamp }: { stamp: string }): JSX.Element {
  const now = useStore().now.value;
  const { got, again } = useGet<DutyRecord>("/duty/log?limit=30", 60_000);
  useEffect(() => void again(), [stamp]);
  const list = got.value.value?.entries ?? [];
  return (
    <Part title="Who changed what">
      <Waiting got={got.value} again={again} what="The log" />
      {got.value.value && list.length === 0 && <p>Nothing has been changed yet.</p>}
      <ol class="lines">
        {list.map((e) => (
          <li key={e.id}>
            <time class="num">{moment(ms(e.at) ?? now, now)}</time>
            <span><b>{e.by || "wetside"}</b> {logWord(e.what)}{e.person && e.person !== e.by && ` (${e.person})`}</span>
            <span class="muted">{detailWords(e.detail)}</span>
          </li>
        ))}
      </ol>
    </Part>
  );
}

/** What a log entry says besides: short plain values, never a whole plan. */
export function detailWords(detail: unknown): string {
  if (typeof detail !== "object" || detail === null) return "";
  const parts: string[] = [];
  for (const [k, v] of Object.entries(detail)) {
    if (typeof v === "string" && v !== "" && v.length < 80) parts.push(`${k.replaceAll("_", " ")}: ${v}`);
    else if (typeof v === "number" || typeof v === "boolean") parts.push(`${k.replaceAll("_", " ")}: ${String(v)}`);
  }
  return parts.slice(0, 4).join(", ");
}
