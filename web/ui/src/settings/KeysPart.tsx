import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { TokenList, TokenView, UnitKeyList, UnitKeyMade, UserRole } from "../types";
import { dayOf } from "../words/day";
import { ms } from "../words/time";

const day = (at: string | null, none: string): string => (at === null ? none : dayOf(ms(at) ?? 0));

/** API tokens and the keys of units: made, listed and taken back. */
export function KeysPart(): JSX.Element {
  const may = useMay();
  if (!may.set) return <Part title="Keys"><p>A lead makes and withdraws tokens and the keys of units.</p></Part>;
  return (
    <>
      <TokensPart />
      <UnitKeysPart />
    </>
  );
}

function TokensPart(): JSX.Element {
  const { got, again } = useGet<TokenList>("/tokens");
  const tokens = got.value.value?.tokens ?? [];
  return (
    <Part title="API tokens" note="For other programs. A token is shown once, when it is made.">
      <Waiting got={got.value} again={again} what="The tokens" />
      {got.value.value && tokens.length === 0 && <p>No program has a token.</p>}
      <ul class="lines">{tokens.map((t) => <TokenRow key={t.name} t={t} again={again} />)}</ul>
      <MakeToken again={again} />
    </Part>
  );
}

function TokenRow({ t, again }: { t: TokenView; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const withdraw = async (): Promise<void> => {
    if (await act.send("DELETE", `/tokens/${encodeURIComponent(t.name)}`)) await again();
  };
  return (
    <li>
      <b>{t.name}</b>
      <span>{t.role}</span>
      <span class="muted">until {day(t.expires_at, "withdrawn")}, last used {day(t.last_used_at, "never")}</span>
      <Said of={act} />
      <button class="plain" disabled={act.busy.value} aria-label={`Withdraw the token ${t.name}`} onClick={() => void withdraw()}>Withdraw</button>
    </li>
  );
}

function MakeToken({ again }: { again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const name = useSignal("");
  const role = useSignal<UserRole>("viewer");
  const days = useSignal("365");
  const made = useSignal<TokenView | null>(null);
  const make = async (e: Event): Promise<void> => {
    e.preventDefault();
    const answer = await act.send<TokenView>("POST", "/tokens", { name: name.value.trim(), role: role.value, days: Number(days.value) });
    if (!answer) return;
    made.value = answer.value;
    name.value = "";
    await again();
  };
  return (
    <form class="fields" onSubmit={(e) => void make(e)}>
      <label>What is it for?<input required maxLength={64} autocomplete="off" value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
      <label>Role<select value={role.value} onChange={(e) => (role.value = e.currentTarget.value as UserRole)}><option>viewer</option><option>operator</option><option>lead</option></select></label>
      <label>Holds for, days<input required type="number" min={1} max={3650} value={days.value} onInput={(e) => (days.value = e.currentTarget.value)} /></label>
      <button class="solid" disabled={act.busy.value || name.value.trim() === ""}>Make a token</button>
      <Said of={act} />
      {made.value && <Once what={`The token ${made.value.name}`} secret={made.value.token ?? ""} done={() => (made.value = null)} />}
    </form>
  );
}

function Once({ what, secret, done }: { what: string; secret: string; done(): void }): JSX.Element {
  return (
    <div class="once" role="status">
      <p><b>{what}.</b> It is shown this once: copy it now.</p>
      <code>{secret}</code>
      <p class="doors"><button type="button" class="plain" onClick={done}>Done</button></p>
    </div>
  );
}

function UnitKeysPart(): JSX.Element {
  const { got, again } = useGet<UnitKeyList>("/unit-keys");
  const act = useSend();
  const unit = useSignal("");
  const made = useSignal<UnitKeyMade | null>(null);
  const give = async (to: string): Promise<void> => {
    const answer = await act.send<UnitKeyMade>("POST", `/units/${to}/key`);
    if (!answer) return;
    made.value = answer.value;
    unit.value = "";
    await again();
  };
  const withdraw = async (of: string): Promise<void> => {
    if (await act.send("DELETE", `/units/${of}/key`, undefined, `The key of ${of} is withdrawn; its connection ends.`)) await again();
  };
  const keys = got.value.value?.keys ?? [];
  return (
    <Part title="Keys of units" note="With its key a unit connects to wetside's own broker from beyond this machine. A new key replaces the one before, and ends the connection made with it.">
      <Waiting got={got.value} again={again} what="The keys" />
      {got.value.value && keys.length === 0 && <p>No unit has a key.</p>}
      <ul class="lines">
        {keys.map((k) => (
          <li key={k.unit}>
            <b>{k.unit}</b>
            <span class="muted">since {dayOf(ms(k.created_at) ?? 0)}</span>
            <button class="plain" disabled={act.busy.value} aria-label={`Replace the key of ${k.unit}`} onClick={() => void give(k.unit)}>Replace</button>
            <button class="plain" disabled={act.busy.value} aria-label={`Withdraw the key of ${k.unit}`} onClick={() => void withdraw(k.unit)}>Withdraw</button>
          </li>
        ))}
      </ul>
      <form class="fields" onSubmit={(e) => { e.preventDefault(); void give(unit.value.trim()); }}>
        <label>Unit, as lab/unit<input required pattern="[a-z0-9][a-z0-9-]*/[a-z0-9][a-z0-9-]*" placeholder="tern-street/plover" value={unit.value} onInput={(e) => (unit.value = e.currentTarget.value)} /></label>
        <button class="solid" disabled={act.busy.value || unit.value.trim() === ""}>Make a key</button>
      </form>
      <Said of={act} />
      {made.value && <Once what={`The key of ${made.value.unit}`} secret={made.value.key} done={() => (made.value = null)} />}
    </Part>
  );
}
