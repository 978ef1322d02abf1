import type { ComponentChildren, JSX, TargetedSubmitEvent } from "preact";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";

interface Props {
  title: string;
  lead: ComponentChildren;
  path: "/session" | "/setup";
  button: string;
  fresh: boolean;
  /** Whose sign-in has ended: they need not type their name again. */
  who?: string;
}

/** The set-up code, where the address that wetside printed was opened. */
const codeInAddress = (): string => new URLSearchParams(location.hash.split("?")[1] ?? "").get("code") ?? "";

/** A name, a password and one button on a page of its own: to sign in, and to make the first lead. */
export function Credentials(props: Props): JSX.Element {
  return <main class="alone"><CredentialsForm {...props} /></main>;
}

/** The same without a page. */
export function CredentialsForm({ title, lead, path, button, fresh, who = "" }: Props): JSX.Element {
  const store = useStore();
  const trouble = useSignal("");
  const busy = useSignal(false);

  const submit = async (e: TargetedSubmitEvent<HTMLFormElement>): Promise<void> => {
    e.preventDefault();
    const form = new FormData(e.currentTarget);
    const name = String(form.get("name") ?? "").trim();
    const password = String(form.get("password") ?? "");
    if (fresh && password !== String(form.get("again") ?? "")) {
      trouble.value = "The two passwords are not the same.";
      return;
    }
    busy.value = true;
    trouble.value = "";
    try {
      const code = String(form.get("code") ?? "").trim();
      await store.source.send("POST", path, fresh ? { name, password, code } : { name, password });
      await store.refreshSession();
    } catch (err) {
      trouble.value = err instanceof Error ? err.message : String(err);
    } finally {
      busy.value = false;
    }
  };

  return (
      <form class="slip" onSubmit={(e) => void submit(e)}>
        <p class="wordmark">wetside</p>
        <h1>{title}</h1>
        <p>{lead}</p>
        <label>
          Name
          <input name="name" required maxLength={64} autocomplete="username" defaultValue={who} autofocus={who === ""} />
        </label>
        <label>
          Password
          <input
            name="password"
            type="password"
            required
            autofocus={who !== ""}
            minLength={fresh ? 8 : 1}
            autocomplete={fresh ? "new-password" : "current-password"}
          />
        </label>
        {fresh && (
          <label>
            The same again
            <input name="again" type="password" required autocomplete="new-password" />
          </label>
        )}
        {fresh && (
          <label>
            Set-up code
            <input name="code" required maxLength={64} autocomplete="off" spellcheck={false} defaultValue={codeInAddress()} />
            <span class="small">Wetside printed it where it was started, and in its log.</span>
          </label>
        )}
        {trouble.value && <p class="trouble" role="alert">{trouble.value}</p>}
        <button class="solid" disabled={busy.value}>{busy.value ? "One moment…" : button}</button>
        <p class="small">Wetside advises; it is no safety device.</p>
      </form>
  );
}
