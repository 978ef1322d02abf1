import { readWant, twinCheck, wantWords } from "../load/rolls";
import { unitOf } from "../load/loading";
import { openContainer } from "../load/deeds";
import { knownWords } from "../rolls/known";
import { mixLabel } from "../chemistry/words";
import { runLink, unitLink } from "../route";
import { findRuns } from "../runs/useRuns";
import { everything } from "../runs/query";
import { kiosk } from "../state/kiosk";
import type { Store } from "../state/store";
import type { RollPage, Run } from "../types";
import { doing } from "../words/doing";
import { moment, ms } from "../words/time";
import { decisionWord, standingOf, standingWords } from "../words/verdict";
import type { Heard } from "./takers";

type Asks = Pick<Store, "units" | "unit" | "nameOf" | "now" | "mayAct" | "source">;

/** What a scan means where no page takes it: a unit's label opens the unit's loading, a roll, an order or a run is looked up, a card is told where it counts. */
export async function lookUp(store: Asks, code: string): Promise<Heard> {
  const unit = unitOf(code, store.units().map((h) => h.unit));
  if (unit) return openUnit(store, unit);
  const card = readWant(code);
  if (card) {
    return { ok: false, words: `A card for ${wantWords(card)} counts while a unit is loaded. Scan the unit's label first, then the card.`, doors: doorsTo("Load", "#/load") };
  }
  const mix = mixLabel(code);
  if (mix) return openMix(mix);
  const twin = twinCheck(code);
  if (twin) {
    const known = await store.source.get<RollPage>(`/rolls/${encodeURIComponent(twin)}`);
    const told = rollWords(store, known);
    if (told) return told;
  }
  return named(store, code, twin !== null);
}

const doorsTo = (words: string, href: string): { words: string; href: string }[] => (kiosk.peek() ? [] : [{ words, href }]);

function openUnit(store: Asks, id: string): Heard {
  const title = store.nameOf(id);
  if (kiosk.peek()) return { ok: false, title, words: "This wall only shows. Load it at a screen where somebody is signed in." };
  openContainer.value = null;
  location.hash = store.mayAct ? `#/load/${id}` : unitLink(id);
  return { ok: true, title, words: store.mayAct ? "Scan its rolls now." : "Its page is open." };
}

/** A bottle: its mix opens, where it can be put up by scanning the unit. */
function openMix(label: string): Heard {
  if (kiosk.peek()) return { ok: false, title: label, words: "This wall only shows. Scan it at a screen where somebody is signed in." };
  return { ok: true, words: "A mix. On the page of mixes scan the bottle, then the unit, to put it up.", doors: [{ words: "Open it", href: `#/mixes/${label}` }, { words: "Mixes", href: "#/mixes" }] };
}

/** Where a roll is, or was last; null where nobody ever scanned it. */
function rollWords(store: Asks, k: RollPage): Heard | null {
  const told = whereWords(store, k);
  // What must not be run says so wherever it is.
  if (!told || !k.known?.stop || told.words.startsWith("Marked STOP")) return told;
  return { ...told, ok: false, words: `Marked STOP: ${k.known.stop}. ${told.words}` };
}

function whereWords(store: Asks, k: RollPage): Heard | null {
  const run = k.runs?.[0];
  const going = k.runs?.find((r) => r.outcome === "running");
  if (going) {
    const heard = store.unit(going.unit)?.peek();
    const d = heard && doing(heard.unit, store.now.peek(), heard.heardAt);
    return { ok: true, words: `In ${store.nameOf(going.unit)} now${d ? `: ${[d.lead, d.time, d.tail].filter(Boolean).join(" ")}` : ""}.`, doors: doorsTo("Open its run", runLink(going.id)) };
  }
  const loaded = k.loaded.map((l) => store.nameOf(l.unit));
  if (loaded.length > 0) {
    const where = loaded.length === 1 ? `Loaded in ${loaded[0]}, not started.` : `Loaded in ${loaded.join(" and ")}: it can be in one only. Look where it is.`;
    return { ok: loaded.length === 1, words: where, doors: doorsTo("Open the load", `#/load/${k.loaded?.[0]?.unit ?? ""}`) };
  }
  if (run) return { ok: true, words: ranWords(store, run), doors: doorsTo("Open its run", runLink(run.id)) };
  if (!k.known) return null;
  const known = knownWords(k.known, store.now.peek());
  const waits = `Waits, in no unit yet${known ? `: ${known}` : ""}. To load it, scan the unit's label first, then the roll.`;
  return { ok: !k.known.stop, words: k.known.stop ? `Marked STOP: ${k.known.stop}. ${waits}` : waits, doors: doorsTo("Rolls waiting", "#/rolls") };
}

function ranWords(store: Asks, r: Run): string {
  const said = r.decision ? decisionWord(r.decision.decision).toLowerCase() : "no decision yet";
  return `Ran in ${store.nameOf(r.unit)}, ${moment(ms(r.started_at) ?? 0, store.now.peek())}: ${standingWords[standingOf(r)]}, ${said}.`;
}

/** An order or a run of that name. */
async function named(store: Asks, code: string, isTwin: boolean): Promise<Heard> {
  const rows = (await findRuns((p) => store.source.get(p), { ...everything, number: code })).rows ?? [];
  const one = rows[0];
  if (one && rows.length === 1) return { ok: true, words: ranWords(store, one), doors: doorsTo("Open its run", runLink(one.id)) };
  if (one) return { ok: true, words: `${rows.length} runs, the last in ${store.nameOf(one.unit)}, ${moment(ms(one.started_at) ?? 0, store.now.peek())}.`, doors: doorsTo("Open the last one", runLink(one.id)) };
  return {
    ok: false,
    words: isTwin ? "No run carried it and no unit is loaded with it. To load it, scan the unit's label first, then the roll."
      : "This is no twin check (1 to 32 digits and letters, - between them), no unit and no order known here. Scan the twin check on the roll.",
    doors: isTwin ? doorsTo("Load", "#/load") : [],
  };
}
