import type { SettingChange } from "../types";

const words: Record<string, string> = {
  time_zone: "time zone", hours: "opening hours", circuits: "circuits", networks: "networks", check_days: "how often checks are due", reels: "what the reels hold", dryer_holds: "what the dryer holds", dryer_min: "how long film dries", name: "name", standing: "standing",
};

/** What a change did, by the value before it where that is known. */
export function changeWords(c: SettingChange, before: SettingChange | undefined, nameOf: (unit: string) => string): string {
  const unit = /^unit (.+)$/.exec(c.key)?.[1];
  const now = asRecord(c.value);
  const was = asRecord(before?.value);
  if (now["closed"] !== undefined && now["closed"] !== (was["closed"] ?? false)) return now["closed"] ? "closed the lab" : "opened the lab";
  if (c.key === "figures-seen") return "read what changed in the program's figures";
  const fields = Object.keys({ ...was, ...now }).filter((k) => words[k] && JSON.stringify(now[k] ?? null) !== JSON.stringify(was[k] ?? null));
  const of = unit ? nameOf(unit) : c.key === "house" ? "the lab" : c.key;
  const said = fields.map((k) => (typeof now[k] === "string" && now[k] !== "" ? `${words[k]} to ${String(now[k]).replaceAll("-", " ")}` : (words[k] ?? k)));
  return said.length === 0 ? `kept the settings of ${of} as they were` : `changed ${said.join(", ")} of ${of}`;
}

const asRecord = (v: unknown): Record<string, unknown> => (typeof v === "object" && v !== null ? (v as Record<string, unknown>) : {});
