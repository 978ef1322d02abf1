import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { Alert, SheetList, SheetView } from "../types";
import { processName, stepWords } from "../words/steps";

/** The names of an alert of unknown steps, each with what it may mean. */
export function NamesForm({ alert }: { alert: Alert }): JSX.Element | null {
  const may = useMay();
  const { got, again } = useGet<SheetList>(may.enter ? "/sheets" : null, 0);
  const facts = alert.facts;
  const process = typeof facts["process"] === "string" ? facts["process"] : "";
  const names = Array.isArray(facts["names"]) ? facts["names"].filter((n): n is string => typeof n === "string") : [];
  if (!may.enter || names.length === 0) return null;
  const sheet = got.value.value?.sheets?.find((s) => s.id === process);
  return (
    <>
      <Waiting got={got.value} again={again} what="The sheet" />
      {sheet && names.map((n) => <OneName key={n} name={n} sheet={sheet} alert={alert} />)}
    </>
  );
}

function OneName({ name, sheet, alert }: { name: string; sheet: SheetView; alert: Alert }): JSX.Element {
  const act = useSend();
  const step = useSignal("");
  const said = useSignal(false);
  const say = async (means: string): Promise<void> => {
    const body = { process: sheet.id, name, ...(means ? { step: means } : {}), ...(alert.run ? { run: alert.run } : {}) };
    said.value = (await act.send("POST", `/units/${alert.unit}/step-names`, body, "Entered. This run and all later ones are judged by it.")) !== null;
  };
  return (
    <form class="fields" onSubmit={(e) => { e.preventDefault(); void say(step.value); }}>
      <label>“{name}” is, in {processName(sheet.id)}
        <select required value={step.value} disabled={said.value} onChange={(e) => (step.value = e.currentTarget.value)}>
          <option value="">choose</option>
          {sheet.steps.map((s) => <option key={s.step} value={s.step}>{stepWords(s.step, s.label).full.toLowerCase()}</option>)}
        </select>
      </label>
      <button class="solid" disabled={act.busy.value || said.value || step.value === ""}>That is what it means</button>
      <button type="button" class="plain" disabled={act.busy.value || said.value} onClick={() => void say("")}>An extra step: accept it</button>
      <Said of={act} />
    </form>
  );
}
