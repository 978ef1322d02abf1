import type { JSX } from "preact";
import type { Heard } from "../state/live";
import { jobName } from "../words/steps";
import { hourMinute, ms } from "../words/time";

/** The time of day at which it ends, and what is needed then. */
export function EndTime({ heard }: { heard: Heard }): JSX.Element {
  const run = heard.unit.run;
  const end = ms(run?.ends_at);
  if (!run || end === null || run.phase === "done" || run.phase === "aborted") return <div class="end" />;
  const what = run.phase === "drying" ? "dry" : run.phase === "waiting" && run.waits_for ? jobName(run.waits_for) : "to dryer";
  return (
    <div class="end">
      <p class="at num">{hourMinute(end)}</p>
      <p class="what">{what}</p>
    </div>
  );
}
