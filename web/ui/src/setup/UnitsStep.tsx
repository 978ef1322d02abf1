import type { JSX } from "preact";
import { Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { UnitRow } from "../settings/UnitsPart";
import type { Reach, Unit } from "../types";

/** How a unit connects, and those that were heard. */
export function UnitsStep({ units, again }: { units: readonly Unit[]; again(): Promise<void> }): JSX.Element {
  const { got, again: look } = useGet<Reach>("/reach");
  const r = got.value.value;
  const fresh = units.filter((u) => u.standing === "new");
  return (
    <>
      <p>Each unit sends what it does to an MQTT broker{r && (r.own_broker ? ", wetside's own, at:" : ", here the lab's own, at:")}</p>
      <Waiting got={got.value} again={look} what="The broker's address" />
      <div class="once">
        {(r?.units ?? []).map((at) => <code key={at}>{at}</code>)}
        {(r?.units ?? []).length === 0 && r?.units_here && <code>{r.units_here}</code>}
        {r?.units_flag && <p><b>Only units on this machine can connect.</b> For units elsewhere on the network, start wetside with <code>{r.units_flag}</code>; their address then stands here.</p>}
        {r?.units_tls && <p>Over TLS.</p>}
        {r && !r.own_broker && <p>Names and keys of units are made at that broker.</p>}
        {r?.own_broker && <p>Beyond this machine each unit needs a key of its own. On the machine that wetside runs on:</p>}
        {r?.own_broker && <code>wetside unit-key create LAB/UNIT</code>}
        <p>LAB and UNIT are small letters, digits and -, such as <b>tern-street/plover</b>. The unit then publishes under <b>wetside/v1/LAB/UNIT</b>, with LAB/UNIT as its user name and the key as its password. What it sends, message by message, with the ids of processes and steps: <a href="/api/v1/asyncapi.yaml">asyncapi.yaml</a>.</p>
      </div>
      <h3>Units that have sent data</h3>
      {units.length === 0
        ? <p role="status"><Standing is="soon" word="Listening" /> A unit appears here with its first message.</p>
        : <ul class="lines">{[...fresh, ...units.filter((u) => u.standing !== "new")].map((u) => <UnitRow key={u.id} u={u} again={again} />)}</ul>}
    </>
  );
}
