import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import type { Unit } from "../types";

/** A unit that was never heard before: shown as new until a lead accepts it. */
export function NewUnit({ unit }: { unit: Unit }): JSX.Element {
  const store = useStore();
  const trouble = useSignal("");
  const lead = store.mayAct && store.session.value?.role === "lead";
  const accept = async (): Promise<void> => {
    try {
      await store.act("PATCH", `/units/${unit.id}`, { standing: "accepted" });
      trouble.value = "";
    } catch (e) {
      trouble.value = e instanceof Error ? e.message : String(e);
    }
  };
  return (
    <div class="newcomer">
      <p>
        <b>New here:</b> {unit.id}
        {unit.model && `, ${unit.model}`}. {lead ? "Is it yours?" : "A lead has to accept it."}
        {trouble.value && <span role="alert"> {trouble.value}</span>}
      </p>
      {lead && <button class="solid" onClick={() => void accept()}>Accept {unit.name || unit.id}</button>}
    </div>
  );
}
