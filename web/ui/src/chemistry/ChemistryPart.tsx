import type { JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Waiting } from "../shared/parts";
import { SourceKind } from "../shared/SourceKind";
import { useGet } from "../shared/useGet";
import { useMay, useSend, type Sending } from "../shared/useSend";
import type { ChemistryView, MixLimit, MixingHelp, Recipe, TankCover } from "../types";
import { partsIn } from "./NewMix";
import { limitWords, milliliters, numberIn } from "./words";

/** The lab's limits for mixes, what covers the reels, and its recipes. */
export function ChemistryPart(): JSX.Element {
  const store = useStore();
  const may = useMay();
  const act = useSend();
  const { got, again } = useGet<ChemistryView>("/chemistry", 0);
  const help = useGet<MixingHelp>("/mixing", 0);
  const c = got.value.value;
  const names = new Map((help.got.value.value?.solutions ?? []).map((s) => [s.solution, s.name]));
  const name = (s: string): string => names.get(s) ?? s;
  const save = async (change: Partial<ChemistryView>): Promise<boolean> => {
    if (!c) return false;
    const next = { limits: c.limits ?? [], covers: c.covers ?? [], recipes: c.recipes ?? [], ...change };
    const ok = await act.send("PUT", "/chemistry", { limits: next.limits, covers: next.covers, recipes: next.recipes }, "Saved.");
    if (ok) await again();
    return ok !== null;
  };
  const unset = [...names.keys()].filter((s) => !(c?.limits ?? []).some((l) => l.solution === s));
  return (
    <>
      <p class="lead">Nothing is asked about mixes until the first is written on the <a href="#/mixes">mixes page</a>, or a limit is set here.</p>
      <Waiting got={got.value} again={again} what="The settings" />
      {c && (
        <>
          <Part title="Limits" note="How old a mix may be, how much film may go through it, and how much a roll needs in the tank. The maker's leaflet says; no figure is made up here.">
            <ul class="lines">
              {(c.limits ?? []).map((l) => (
                <li key={l.solution}>
                  <b>{name(l.solution)}</b>
                  <span class="what">{[limitWords(l), l.ml_per_roll !== undefined && `${milliliters(l.ml_per_roll)} a roll-equivalent`].filter(Boolean).join("; ") || "no figure"}{l.source && <span class="muted"> ({l.source})</span>} <SourceKind of="the lab's own" /></span>
                  {may.set && <button class="plain tiny" disabled={act.busy.value} onClick={() => void save({ limits: (c.limits ?? []).filter((x) => x !== l) })}>Remove</button>}
                </li>
              ))}
              {c.published.filter((l) => unset.includes(l.solution)).map((l) => (
                <li key={l.solution}><b>{name(l.solution)}</b><span class="what">{limitWords(l)} <span class="muted">({l.source})</span> <SourceKind of="published" /></span></li>
              ))}
            </ul>
            {may.set && <LimitForm unset={unset} name={name} save={(l) => save({ limits: [...(c.limits ?? []), l] })} act={act} />}
          </Part>
          <Part title="Covers the reels" note="How much a tank needs so that all its reels are under: read it on the drum or try it with water.">
            <ul class="lines">
              {(c.covers ?? []).map((x, i) => (
                <li key={i}>
                  <b>{store.nameOf(x.unit)}</b><span class="what">up to {x.reels === 1 ? "1 reel" : `${x.reels} reels`}: {milliliters(x.ml)}</span>
                  {may.set && <button class="plain tiny" disabled={act.busy.value} onClick={() => void save({ covers: (c.covers ?? []).filter((y) => y !== x) })}>Remove</button>}
                </li>
              ))}
            </ul>
            {may.set && <CoverForm save={(x) => save({ covers: [...(c.covers ?? []), x] })} act={act} />}
          </Part>
          <Part title="Recipes" note="For the mixing help: milliliters in a liter of the mix.">
            <ul class="lines">
              {(c.recipes ?? []).map((r, i) => (
                <li key={i}>
                  <b>{name(r.solution)}, {r.name}</b>
                  <span class="what">{r.parts.map((p) => `${p.part} ${milliliters(p.ml_per_l)}`).join(", ")} a liter{r.source && <span class="muted"> ({r.source})</span>}</span>
                  {may.set && <button class="plain tiny" disabled={act.busy.value} onClick={() => void save({ recipes: (c.recipes ?? []).filter((x) => x !== r) })}>Remove</button>}
                </li>
              ))}
            </ul>
            {may.set && <RecipeForm all={[...names.keys()]} name={name} save={(r) => save({ recipes: [...(c.recipes ?? []), r] })} act={act} />}
          </Part>
          <Said of={act} />
        </>
      )}
    </>
  );
}

interface FormProps<T> {
  save(made: T): Promise<boolean>;
  act: Sending;
}

function LimitForm({ unset, name, save, act }: FormProps<MixLimit> & { unset: readonly string[]; name(s: string): string }): JSX.Element {
  const add = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    const l: MixLimit = { solution: String(f.get("solution")) };
    for (const k of ["days", "rolls_per_l", "ml_per_roll"] as const) {
      const v = numberIn(f.get(k));
      if (v !== undefined) l[k] = v;
    }
    const source = String(f.get("source") ?? "").trim();
    if (source) l.source = source;
    if (await save(l)) form.reset();
  };
  return (
    <form class="fields" onSubmit={(e) => void add(e)}>
      <label>Solution<select name="solution" required><option value="">Choose one</option>{unset.map((s) => <option key={s} value={s}>{name(s)}</option>)}</select></label>
      <label>Days<input name="days" type="number" min="0" step="any" /></label>
      <label>Roll-equivalents a liter<input name="rolls_per_l" type="number" min="0" step="any" /></label>
      <label>mL a roll-equivalent<input name="ml_per_roll" type="number" min="0" step="any" /></label>
      <label class="grow">From<input name="source" maxLength={200} placeholder="the maker's leaflet, your own tests" /></label>
      <button class="solid" disabled={act.busy.value}>Set the limit</button>
    </form>
  );
}

function CoverForm({ save, act }: FormProps<TankCover>): JSX.Element {
  const store = useStore();
  const unit = useSignal("");
  const add = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    if (await save({ unit: unit.value, reels: Math.round(numberIn(f.get("reels")) ?? 0), ml: numberIn(f.get("ml")) ?? 0 })) form.reset();
  };
  return (
    <form class="fields" onSubmit={(e) => void add(e)}>
      <label>Unit<select required value={unit.value} onInput={(e) => (unit.value = e.currentTarget.value)}><option value="">Choose one</option>{store.order.value.map((u) => <option key={u} value={u}>{store.nameOf(u)}</option>)}</select></label>
      <label>Reels, up to<input name="reels" type="number" min="1" max="200" required /></label>
      <label>mL<input name="ml" type="number" min="1" max="50000" required /></label>
      <button class="solid" disabled={act.busy.value}>Set it</button>
    </form>
  );
}

function RecipeForm({ all, name, save, act }: FormProps<Recipe> & { all: readonly string[]; name(s: string): string }): JSX.Element {
  const add = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = e.currentTarget;
    const f = new FormData(form);
    const text = (k: string): string => String(f.get(k) ?? "").trim();
    const made = { solution: text("solution"), name: text("name"), note: text("note"), source: text("source"), parts: partsIn(text("parts")).map((p) => ({ part: p.part, ml_per_l: p.ml })) };
    if (await save(made)) form.reset();
  };
  return (
    <form class="fields" onSubmit={(e) => void add(e)}>
      <label>Solution<select name="solution" required><option value="">Choose one</option>{all.map((s) => <option key={s} value={s}>{name(s)}</option>)}</select></label>
      <label>Name<input name="name" required maxLength={200} placeholder="5 L kit" /></label>
      <label class="grow">Parts, one a line: name, mL in a liter<textarea name="parts" rows={3} required placeholder={"Starting water, 600\nPart A, 200"} /></label>
      <label class="grow">To mind<input name="note" maxLength={200} /></label>
      <label class="grow">From<input name="source" maxLength={200} placeholder="the maker's leaflet" /></label>
      <button class="solid" disabled={act.busy.value}>Save the recipe</button>
    </form>
  );
}
