import type { JSX } from "preact";

interface Props {
  label: string;
  value: string;
  options: [value: string, words: string][];
  onPick(value: string): void;
  /** The words for no choice; left out, one must be chosen. */
  none?: string | null;
}

/** A label and a list to choose one from. */
export function Choice({ label, value, options, onPick, none = "all" }: Props): JSX.Element {
  return (
    <label class="pick">
      {label}
      <select value={value} onChange={(e) => onPick(e.currentTarget.value)}>
        {none !== null && <option value="">{none}</option>}
        {options.map(([v, words]) => <option key={v} value={v}>{words}</option>)}
      </select>
    </label>
  );
}
