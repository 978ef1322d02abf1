import type { JSX } from "preact";
import { useSignal } from "@preact/signals";
import { Part, Said, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useMay, useSend } from "../shared/useSend";
import type { PersonList, UserRole } from "../types";

const roles: [UserRole, string][] = [
  ["viewer", "looks, changes nothing"],
  ["operator", "works here: loads, acknowledges, shelves, decides about film"],
  ["lead", "sets up too: units, sheets, duty, people"],
];

/** Who may sign in, and as what. */
export function PeoplePart(): JSX.Element {
  const may = useMay();
  const { got, again } = useGet<PersonList>(may.set ? "/users" : null);
  return (
    <>
      {may.set && (
        <Part title="People">
          <Waiting got={got.value} again={again} what="The list of people" />
          <ul class="lines">{(got.value.value?.users ?? []).map((u) => <PersonRow key={u.name} name={u.name} role={u.role} me={may.me} again={again} />)}</ul>
          <p class="tiny">Who is called, and how, is under <a href="#/duty">On call</a>.</p>
        </Part>
      )}
      {may.set && <AddPart again={again} />}
      <PasswordPart />
    </>
  );
}

/** One person: role, password and links may be changed or taken back here. */
function PersonRow({ name, role, me, again }: { name: string; role: UserRole; me: string; again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const password = useSignal("");
  const at = `/users/${encodeURIComponent(name)}`;
  const turn = async (to: UserRole): Promise<void> => {
    await act.send("PATCH", at, { role: to }, `${name} is ${to} now.`);
    await again();
  };
  const reset = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("POST", `${at}/password`, { password: password.value }, `${name} signs in with the new password from now on.`)) password.value = "";
  };
  const remove = async (): Promise<void> => {
    if (!confirm(`Remove ${name}? They are signed out everywhere, and no page goes to them any more. What they did stays in the books.`)) return;
    if (await act.send("DELETE", at)) await again();
  };
  return (
    <li data-person={name}>
      <b>{name}</b>
      <span>{role}</span>
      <span class="muted">{roles.find(([r]) => r === role)?.[1]}</span>
      <Said of={act} />
      <details>
        <summary>Change<span class="unseen"> {name}</span></summary>
        <label>Role <select value={role} disabled={act.busy.value} onChange={(e) => void turn(e.currentTarget.value as UserRole)}>{roles.map(([r]) => <option key={r} value={r}>{r}</option>)}</select></label>
        {name !== me && (
          <form class="fields" onSubmit={(e) => void reset(e)}>
            <label>New password for {name}<input required minLength={8} maxLength={256} type="password" autocomplete="new-password" value={password.value} onInput={(e) => (password.value = e.currentTarget.value)} /></label>
            <button class="plain" disabled={act.busy.value}>Set it</button>
          </form>
        )}
        <p class="doors">
          <button class="plain" disabled={act.busy.value} onClick={() => void act.send("POST", "/page-links/withdraw", { person: name }, "The links in pages sent until now are withdrawn.")}>Withdraw page links</button>
          {name !== me && <button class="plain" disabled={act.busy.value} onClick={() => void remove()}>Remove {name}</button>}
        </p>
      </details>
    </li>
  );
}

function AddPart({ again }: { again(): Promise<void> }): JSX.Element {
  const act = useSend();
  const name = useSignal("");
  const role = useSignal<UserRole>("operator");
  const password = useSignal("");
  const add = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (!(await act.send("POST", "/users", { name: name.value.trim(), role: role.value, password: password.value }, `${name.value.trim()} can sign in now.`))) return;
    name.value = password.value = "";
    await again();
  };
  return (
    <Part title="Add a person" note="They can change the password themselves, below.">
      <form class="stack" onSubmit={(e) => void add(e)}>
        <div class="fields">
          <label>Name<input required maxLength={64} autocomplete="off" value={name.value} onInput={(e) => (name.value = e.currentTarget.value)} /></label>
          <label>First password<input required minLength={8} maxLength={256} type="password" autocomplete="new-password" value={password.value} onInput={(e) => (password.value = e.currentTarget.value)} /></label>
        </div>
        <fieldset>
          <legend>What they may do</legend>
          {roles.map(([r, what]) => (
            <label key={r} class="tick roleline"><input type="radio" name="role" checked={role.value === r} onChange={() => (role.value = r)} /><span><b>{r}</b> {what}</span></label>
          ))}
        </fieldset>
        <Said of={act} />
        <button class="solid" disabled={act.busy.value}>Add {name.value.trim() || "them"}</button>
      </form>
    </Part>
  );
}

function PasswordPart(): JSX.Element {
  const act = useSend();
  const now = useSignal("");
  const next = useSignal("");
  const change = async (e: Event): Promise<void> => {
    e.preventDefault();
    if (await act.send("POST", "/session/password", { current: now.value, new: next.value }, "Changed. Your other screens have to sign in again.")) now.value = next.value = "";
  };
  return (
    <Part title="Your password">
      <form class="fields" onSubmit={(e) => void change(e)}>
        <label>Until now<input required type="password" autocomplete="current-password" value={now.value} onInput={(e) => (now.value = e.currentTarget.value)} /></label>
        <label>From now on<input required minLength={8} type="password" autocomplete="new-password" value={next.value} onInput={(e) => (next.value = e.currentTarget.value)} /></label>
        <button class="plain" disabled={act.busy.value}>Change it</button>
      </form>
      <Said of={act} />
    </Part>
  );
}
