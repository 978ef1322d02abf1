import type { JSX } from "preact";
import { Standing } from "../shared/parts";
import { UnitRow } from "../settings/UnitsPart";
import type { Unit } from "../types";

/** How a unit connects, and those that were heard. */
export function UnitsStep({ units, again }: { units: readonly Unit[]; again(): Promise<void> }): JSX.Element {
  const host = location.hostname;
  const here = host === "localhost" || host.startsWith("127.") || host === "[::1]";
  const fresh = units.filter((u) => u.standing === "new");
  return (
    <>
      <p>Each unit sends what it does to an MQTT broker. Unless wetside was started with another one, that is its own, at:</p>
      <div class="once">
        <code>{here ? "127.0.0.1:1883" : `${host}:1883`}</code>
        {here && <p>For units elsewhere on the network, start wetside with <code>--mqtt-listen :1883</code> and give them this machine's address.</p>}
        <p>Beyond this machine each unit needs a key of its own. On the machine that wetside runs on:</p>
        <code>wetside unit-key create LAB/UNIT</code>
        <p>LAB and UNIT are small letters, digits and -, such as <b>tern-street/plover</b>. The unit then publishes under <b>wetside/v1/LAB/UNIT</b>, with LAB/UNIT as its user name and the key as its password.</p>
      </div>
      <h3>Units that have sent data</h3>
      {units.length === 0
        ? <p role="status"><Standing is="soon" word="Listening" /> A unit appears here with its first message.</p>
        : <ul class="lines">{[...fresh, ...units.filter((u) => u.standing !== "new")].map((u) => <UnitRow key={u.id} u={u} again={again} />)}</ul>}
    </>
  );
}
