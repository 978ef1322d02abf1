import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { HoursPart } from "../settings/HousePart";
import { ownZone } from "../settings/house";
import { Said } from "../shared/parts";
import { useSend } from "../shared/useSend";
import type { House } from "../types";

/** The clock on the lab's wall, and when somebody is there. */
export function LabStep({ h, again }: { h: House; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const more = useSignal(h.time_zone !== "");
  const zone = ownZone();
  const take = async (): Promise<void> => {
    if (await act.send("PUT", "/house", { ...h, time_zone: zone }, `The lab's clock goes by ${zone}.`)) await again();
  };
  return (
    <>
      <p>On-call and opening hours go by the clock on the lab's wall.</p>
      {h.time_zone === "" && (
        <p class="doors">
          <button class="solid" disabled={act.busy.value} onClick={() => void take()}>It is {zone}</button>
          <button class="plain" aria-expanded={more.value} onClick={() => (more.value = !more.value)}>Another, or set hours too</button>
        </p>
      )}
      <Said of={act} />
      {more.value && <HoursPart key={JSON.stringify(h)} h={h} again={again} />}
    </>
  );
}
