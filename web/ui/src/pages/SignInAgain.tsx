import type { JSX } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { useStore } from "../context";
import { CredentialsForm } from "./Credentials";

/** Over the page whose sign-in has ended: the way back in, with what was begun on the page kept under it. */
export function SignInAgain(): JSX.Element {
  const store = useStore();
  const box = useRef<HTMLDialogElement>(null);
  useLayoutEffect(() => {
    const el = box.current;
    if (el && !el.open) el.showModal();
    el?.querySelector<HTMLInputElement>("input[name=password]")?.focus();
  }, []);
  return (
    <dialog class="again" ref={box} aria-label="Sign in again" onCancel={(e) => e.preventDefault()}>
      <CredentialsForm
        title="Your sign-in has ended" path="/session" button="Sign in" fresh={false} who={store.session.value?.name ?? ""}
        lead="Sign in again and go on where you were: what you had begun on this page is still there."
      />
      <p><button class="link" onClick={() => location.reload()}>Start anew without it</button></p>
    </dialog>
  );
}
