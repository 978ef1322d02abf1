import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { volumes } from "../state/prefs";
import { Part, Said } from "../shared/parts";
import { useMay, useSend } from "../shared/useSend";
import type { MixView, SolutionView } from "../types";
import { asLitres, volumeUnit } from "../words/measure";
import { numberIn } from "./words";

interface Props {
  solutions: readonly SolutionView[];
  again(): Promise<void>;
}

/** Writes a mix; it gets its label. */
export function NewMix({ solutions, again }: Props): JSX.Element {
  const may = useMay();
  const act = useSend();
  const made = useSignal<MixView | null>(null);
  const write = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    const text = (k: string): string => String(f.get(k) ?? "").trim();
    const at = text("mixed_at");
    const got = await act.send<MixView>("POST", "/mixes", {
      solution: text("solution"), name: text("name"), lot: text("lot"), mixed_by: text("mixed_by") || may.me, note: text("note"),
      volume_l: Math.round(asLitres(numberIn(f.get("volume")) ?? 0, volumes.value) * 1000) / 1000, parts: partsIn(text("parts")), ...(at && { mixed_at: new Date(at).toISOString() }),
    });
    if (!got) return;
    made.value = got.value;
    form.reset();
    await again();
  };
  return (
    <Part title="Write a mix" note="What went in, how much, when and by whom. Gloves, goggles and apron with concentrates; acid into water, never water into acid.">
      <form class="fields" onSubmit={(e) => void write(e)}>
        <label>Solution
          <select name="solution" required>
            <option value="">Choose one</option>
            {solutions.map((s) => <option key={s.solution} value={s.solution}>{s.name}</option>)}
          </select>
        </label>
        <label>Volume, {volumeUnit(volumes.value)}<input name="volume" inputMode="decimal" required size={6} /></label>
        <label>Maker&rsquo;s lot<input name="lot" maxLength={200} size={12} autocomplete="off" /></label>
        <label>Mixed by<input name="mixed_by" maxLength={200} size={12} placeholder={may.me} /></label>
        <label>Mixed when<input name="mixed_at" type="datetime-local" /></label>
        <label>Name<input name="name" maxLength={200} size={16} placeholder="if it has one" /></label>
        <label class="grow">Parts, one a line: name, mL<textarea name="parts" rows={2} placeholder={"Part A, 500\nPart B, 50"} /></label>
        <label class="grow">Note<input name="note" maxLength={1000} /></label>
        <button class="solid" disabled={act.busy.value || solutions.length === 0}>Write it and get a label</button>
      </form>
      <Said of={act} />
      {made.value && (
        <p class="once" role="status">
          Write this on the bottle, or print it as a bar code: <b class="num mixlabel">{made.value.id}</b>
          <a class="button" href={`#/mixes/${made.value.id}`}>Open it</a>
        </p>
      )}
    </Part>
  );
}

/** "Part A, 500" a line. A line without a number has none. */
export function partsIn(text: string): { part: string; ml: number }[] {
  return text.split("\n").map((l) => l.trim()).filter(Boolean).map((l) => {
    const m = /^(.*?)[,;\t ]+([\d.,]+)\s*(?:m[lL])?$/.exec(l);
    const ml = m?.[2] === undefined ? undefined : numberIn(m[2]);
    return m?.[1] && ml !== undefined ? { part: m[1].trim(), ml } : { part: l, ml: 0 };
  });
}
