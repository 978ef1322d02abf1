import type { JSX } from "preact";
import { useStore } from "../context";
import { ScanField, type Heard } from "../load/ScanField";
import { Part, Standing } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay } from "../shared/useSend";
import type { BooksUsed, BottleList } from "../types";
import { moment, ms } from "../words/time";
import { mixLabel, standOf } from "./words";
import "./chemistry.css";

/** Which mix stands where on a unit; nothing until the lab uses mixes. */
export function BottlesPart({ id }: { id: string }): JSX.Element | null {
  const { got } = useGet<BooksUsed>("/books", 300_000);
  return got.value.value?.mixes ? <Bottles id={id} /> : null;
}

function Bottles({ id }: { id: string }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const { got, again } = useGet<BottleList>(`/units/${id}/bottles`);
  const now = store.now.peek();
  const scan = async (code: string): Promise<Heard> => {
    const mix = mixLabel(code);
    if (!mix) return { ok: false, words: "This is no mix: labels begin with MIX-" };
    try {
      await store.act("POST", `/units/${id}/bottles`, { mix });
      await again();
      return { ok: true, words: `${mix} stands here from now on` };
    } catch (e) {
      return { ok: false, words: e instanceof Error ? e.message : String(e) };
    }
  };
  return (
    <Part title="Bottles" note={<>Which <a href="#/mixes">mix</a> each bath is drawn from.</>}>
      <ul class="lines">
        {(got.value.value?.bottles ?? []).map((b) => (
          <li key={b.position}>
            <b>{b.name}</b>
            <span class="what">{b.mix ? <><a class="num" href={`#/mixes/${b.mix}`}>{b.mix}</a> since {moment(ms(b.since) ?? now, now)}</> : "not known: no bottle was scanned"}</span>
            {b.state && <Stands state={b.state} />}
          </li>
        ))}
      </ul>
      {may.enter && <ScanField label="Scan a bottle that is put up" hint="It goes to the position of its solution." onScan={scan} />}
    </Part>
  );
}

function Stands({ state }: { state: NonNullable<BottleList["bottles"][number]["state"]> }): JSX.Element {
  const [is, word] = standOf({ state, at: [] });
  return <Standing is={is} word={word} />;
}
