import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import { moment, ms } from "../words/time";
import { groupOf, hoursLines, moved, readSpans, weekdays, zones } from "./house";
import type { House } from "../types";

/** What holds for the whole lab. */
export function HousePart(): JSX.Element {
  const { got, again } = useGet<House>("/house");
  const h = got.value.value;
  return (
    <>
      <Waiting got={got.value} again={again} what="The lab's settings" />
      {h && <OpenOrClosed h={h} again={again} />}
      {h && <HoursPart key={JSON.stringify([h.time_zone, h.hours])} h={h} again={again} />}
      {h && <UnitsOfMeasure key={JSON.stringify(h.units)} h={h} again={again} />}
      {h && <GroupsPart key={JSON.stringify([h.circuits, h.networks])} h={h} again={again} />}
    </>
  );
}

interface Props {
  h: House;
  again(): Promise<void>;
}

function OpenOrClosed({ h, again }: Props): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const until = ms(h.closed_until);
  const set = async (closed: boolean): Promise<void> => {
    if (await act.send("POST", "/house/closed", { closed }, closed ? "The lab is closed." : "The lab is open.")) await again();
  };
  return (
    <div class={`slipbox openclosed${h.closed ? " shut" : ""}`}>
      <div>
        <p class="big">{h.closed ? "Closed" : "Open"}</p>
        <p>{h.closed
          ? `${h.closed_by ? `By ${h.closed_by}. ` : ""}${until === null ? "Until somebody opens it." : `Until ${moment(until, store.now.value)}.`} Alerts that concern no run wait; a run with film in it pages as ever.`
          : "Everything pages as the on-call plan says. Outside the hours below the lab counts as closed."}</p>
      </div>
      {may.enter && <button class={h.closed ? "solid" : "plain"} disabled={act.busy.value} onClick={() => void set(!h.closed)}>{h.closed ? "Open the lab" : "Close the lab"}</button>}
      <Said of={act} />
    </div>
  );
}

export function HoursPart({ h, again }: Props): JSX.Element {
  const may = useMay();
  const act = useSend();
  const zone = useSignal(h.time_zone);
  const spans = useSignal<Record<string, string>>(Object.fromEntries(weekdays.map((d) => [d, (h.hours?.[d] ?? []).join(", ")])));
  const wrong = useSignal("");
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    const hours: Record<string, string[]> = {};
    for (const d of weekdays) {
      const read = readSpans(spans.value[d] ?? "");
      if (typeof read === "string") return void (wrong.value = read);
      if (read.length > 0) hours[d] = read;
    }
    wrong.value = "";
    if (await act.send("PUT", "/house", { ...h, time_zone: zone.value.trim(), hours }, "Saved.")) await again();
  };
  const lines = hoursLines(h.hours);
  const always = weekdays.every((d) => !spans.value[d]?.trim());
  return (
    <Part title="Clock and hours" note="Outside its hours the lab counts as closed. With no hours at all it is always open.">
      {!may.set && <p>{h.time_zone || "UTC"}</p>}
      {!may.set && (lines.length === 0 ? <p>Always open.</p> : <ul class="lines">{lines.map((l) => <li key={l}>{l}</li>)}</ul>)}
      {may.set && (
        <form class="stack" onSubmit={(e) => void save(e)}>
          <label>Time zone
            <input list="zones" value={zone.value} placeholder="Europe/London" onInput={(e) => (zone.value = e.currentTarget.value)} />
            <datalist id="zones">{zones().map((z) => <option key={z} value={z} />)}</datalist>
          </label>
          <div class="weekhours">
            {weekdays.map((d) => (
              <label key={d}>{d.charAt(0).toUpperCase() + d.slice(1)}
                <input value={spans.value[d]} placeholder={always ? "open" : "closed"} onInput={(e) => (spans.value = { ...spans.value, [d]: e.currentTarget.value })} />
              </label>
            ))}
          </div>
          <p class="tiny">Such as 09:00-13:00, 14:00-18:00. Leave a day empty where nobody is there.</p>
          {wrong.value && <p class="trouble" role="alert">{wrong.value}</p>}
          <Said of={act} />
          <button class="solid" disabled={act.busy.value}>Save clock and hours</button>
        </form>
      )}
    </Part>
  );
}

/** What the lab reads in, where no reader chose: pages by phone and mail, webhooks, reports on paper. */
function UnitsOfMeasure({ h, again }: Props): JSX.Element {
  const may = useMay();
  const act = useSend();
  const temperature = useSignal(h.units?.temperature ?? "c");
  const volume = useSignal(h.units?.volume ?? "l");
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("PUT", "/house", { ...h, units: { temperature: temperature.value, volume: volume.value } }, "Saved.")) await again();
  };
  return (
    <Part title="Units of measure" note="For pages by phone and mail, webhooks and reports on paper, and for everybody who chose nothing under Your own.">
      {!may.set && <p>{temperature.value === "c" ? "°C" : "°F"}, {volume.value === "l" ? "liters" : "US gallons"}</p>}
      {may.set && (
        <form class="fields" onSubmit={(e) => void save(e)}>
          <label>Temperature
            <select value={temperature.value} onChange={(e) => (temperature.value = e.currentTarget.value as "c" | "f")}>
              <option value="c">°C</option><option value="f">°F</option>
            </select>
          </label>
          <label>Volume
            <select value={volume.value} onChange={(e) => (volume.value = e.currentTarget.value as "l" | "gal")}>
              <option value="l">Liters</option><option value="gal">US gallons</option>
            </select>
          </label>
          <Said of={act} />
          <button class="solid" disabled={act.busy.value}>Save the units</button>
        </form>
      )}
    </Part>
  );
}

function GroupsPart({ h, again }: Props): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const circuits = useSignal(h.circuits ?? {});
  const networks = useSignal(h.networks ?? {});
  const units = [...store.order.value].sort();
  const save = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("PUT", "/house", { ...h, circuits: circuits.value, networks: networks.value }, "Saved.")) await again();
  };
  return (
    <Part title="Circuits and networks" note="Units on one fuse or one switch fail together: they make one page that names the first, not one each.">
      {units.length === 0 && <p>When data has come from units, say here which share a circuit or network.</p>}
      {units.length > 0 && !may.set && (
        <ul class="lines">{units.map((u) => <li key={u}><b>{store.nameOf(u)}</b><span>{groupOf(h.circuits, u) || "no circuit named"}</span><span>{groupOf(h.networks, u)}</span></li>)}</ul>
      )}
      {units.length > 0 && may.set && (
        <form class="stack" onSubmit={(e) => void save(e)}>
          <datalist id="circuits">{Object.keys(circuits.value).map((c) => <option key={c} value={c} />)}</datalist>
          <datalist id="networks">{Object.keys(networks.value).map((c) => <option key={c} value={c} />)}</datalist>
          <div class="scroll" tabIndex={0} role="region" aria-label="Circuit and network of each unit"><table class="groups">
            <thead><tr><th scope="col">Unit</th><th scope="col" class="words">Circuit</th><th scope="col" class="words">Network</th></tr></thead>
            <tbody>
              {units.map((u) => (
                <tr key={u}>
                  <th scope="row">{store.nameOf(u)}</th>
                  <td class="words"><input aria-label={`Circuit of ${store.nameOf(u)}`} list="circuits" value={groupOf(circuits.value, u)} placeholder="none" onChange={(e) => (circuits.value = moved(circuits.value, u, e.currentTarget.value))} /></td>
                  <td class="words"><input aria-label={`Network of ${store.nameOf(u)}`} list="networks" value={groupOf(networks.value, u)} placeholder="none" onChange={(e) => (networks.value = moved(networks.value, u, e.currentTarget.value))} /></td>
                </tr>
              ))}
            </tbody>
          </table></div>
          <Said of={act} />
          <button class="solid" disabled={act.busy.value}>Save the groups</button>
        </form>
      )}
      {Object.keys(h.circuits ?? {}).length === 0 && units.length > 1 && <Standing is="none" word="No circuit is named: a tripped breaker would page once for each unit." />}
    </Part>
  );
}
