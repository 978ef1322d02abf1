import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { unitLink } from "../route";
import { Part, Said, Standing, Waiting, type Stand } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { Unit, UnitList, UnitStanding } from "../types";
import { age, ms } from "../words/time";

const stands: Record<UnitStanding, { is: Stand; word: string }> = {
  new: { is: "soon", word: "new" }, accepted: { is: "in", word: "in use" }, "out-of-service": { is: "off", word: "out of service" }, retired: { is: "none", word: "retired" },
};

/** Every unit that was ever heard, the new ones first. */
export function UnitsPart(): JSX.Element {
  const store = useStore();
  store.order.value; // asked anew when a unit appears
  const { got, again } = useGet<UnitList>("/units", 10_000);
  const rank = (u: Unit): number => ["new", "accepted", "out-of-service", "retired"].indexOf(u.standing ?? "accepted");
  const list = [...(got.value.value?.units ?? [])].sort((a, b) => rank(a) - rank(b) || a.id.localeCompare(b.id));
  return (
    <Part title="Units" note="A unit appears by itself with its first message. A lead accepts it; until then it is shown as new.">
      <Waiting got={got.value} again={again} what="The units" />
      {got.value.value && list.length === 0 && <p>No data received from any unit. <a href="#/set-up">How a unit connects</a>.</p>}
      <ul class="lines">{list.map((u) => <UnitRow key={u.id} u={u} again={again} />)}</ul>
      <p class="tiny">How its containers are called and what they hold is told by the unit itself. To rename, rest or retire one, open it.</p>
    </Part>
  );
}

export function UnitRow({ u, again }: { u: Unit; again(): Promise<void> }): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const name = useSignal(u.name);
  const s = stands[u.standing ?? "accepted"];
  const heard = ms(u.last_heard_at);
  const accept = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("PATCH", `/units/${u.id}`, { standing: "accepted", name: name.value.trim() })) await again();
  };
  return (
    <li>
      <Standing is={s.is} word={s.word} />
      <a href={unitLink(u.id)}><b>{u.name || u.id}</b></a>
      <span class="muted">{u.id}{u.model && `, ${u.model}`}, {heard === null ? "no data received" : `last data ${age((store.now.value - heard) / 1000)} ago`}</span>
      {u.standing === "new" && may.set && (
        <form class="fields" onSubmit={(e) => void accept(e)}>
          <label>What do you call it?<input required maxLength={64} value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
          <button class="solid" disabled={act.busy.value || name.value.trim() === ""}>Accept it</button>
        </form>
      )}
      <Said of={act} />
    </li>
  );
}
