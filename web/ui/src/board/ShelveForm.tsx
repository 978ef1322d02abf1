import type { JSX, TargetedSubmitEvent } from "preact";

interface Props {
  busy: boolean;
  onShelve(minutes: number, reason: string): unknown;
}

/** For how long an alert may wait, and why. */
export function ShelveForm({ busy, onShelve }: Props): JSX.Element {
  const submit = (e: TargetedSubmitEvent<HTMLFormElement>): void => {
    e.preventDefault();
    const f = new FormData(e.currentTarget);
    onShelve(Number(f.get("minutes")), String(f.get("reason") ?? "").trim());
  };
  return (
    <form class="shelve" onSubmit={submit}>
      <label>
        Minutes
        <input name="minutes" type="number" min="1" max="480" step="1" value="15" required inputMode="numeric" />
      </label>
      <label class="wide">
        Why it may wait
        <input name="reason" required maxLength={1000} />
      </label>
      <button class="solid" disabled={busy}>Shelve it</button>
    </form>
  );
}
