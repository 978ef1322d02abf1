import type { JSX } from "preact";
import { Part, Waiting } from "../shared/parts";
import { SourceKind } from "../shared/SourceKind";
import { useGet } from "../shared/useGet";
import type { RuleFigureList } from "../types";

/** The figures that the rules judge by, and where each is from. */
export function RulesPart(): JSX.Element {
  const { got, again } = useGet<RuleFigureList>("/rule-figures", 0);
  const list = got.value.value?.figures ?? [];
  return (
    <Part title="Figures of the rules" note="Holds, limits and waits; seconds unless the name says otherwise. They are changed by figures.yaml in the folder that --rules names." class="wholewidth">
      <Waiting got={got.value} again={again} what="The figures" />
      {list.length > 0 && (
        <div class="scroll" tabIndex={0} role="region" aria-label="Figures of the rules">
          <table class="sheetfigures">
            <thead><tr><th scope="col">Figure</th><th scope="col">Value</th><th scope="col" class="words">Source</th></tr></thead>
            <tbody>
              {list.map((f) => (
                <tr key={f.figure}><th scope="row">{f.figure}</th><td class="num">{f.value}</td><td class="words"><SourceKind of={f.standing} /> {f.from}</td></tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </Part>
  );
}
