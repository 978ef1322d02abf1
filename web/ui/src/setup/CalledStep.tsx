import type { JSX } from "preact";
import { ContactsForm } from "../duty/ContactsPart";
import { TestResults, type Testing } from "../duty/PageTestPart";
import { always } from "../duty/plan";
import { ThisPhone } from "../duty/ThisPhone";
import type { Contacts, DutyNow } from "../duty/types";
import { Said, Standing, Waiting } from "../shared/parts";
import { useGet } from "../shared/useGet";
import { useSend } from "../shared/useSend";

interface Props {
  d: DutyNow;
  zone: string;
  me: string;
  again(): Promise<void>;
  test: Testing;
}

/** Who is called: oneself, always, by a way that was seen to work. */
export function CalledStep({ d, zone, me, again, test }: Props): JSX.Element {
  const act = useSend();
  const path = `/people/${encodeURIComponent(me)}/contacts`;
  const contacts = useGet<Contacts>(path);
  const c = contacts.got.value.value;
  const planned = d.set && d.plan.hours.length > 0;
  const reachable = (c?.ways ?? []).length > 0;
  const take = async (): Promise<void> => {
    if (await act.send("PUT", "/duty", { version: d.version, plan: always(d.plan, me, zone || d.plan.time_zone) }, "You are on call, always.")) await again();
    else if (act.status.value === 409) await again();
  };
  const both = async (): Promise<void> => {
    await contacts.again();
    await again();
  };
  return (
    <ol class="threefold">
      <li>
        <h3><Standing is={planned ? "in" : "none"} word="On call" /></h3>
        {planned ? <p>{d.on.length > 0 ? `On now: ${d.on.join(", ")}.` : "Nobody at this hour."} <a href="#/duty">Change the hours</a></p> : (
          <>
            <p>To begin with: {me}, at every hour. Others and their hours come later, under On call.</p>
            <button class="solid" disabled={act.busy.value} onClick={() => void take()}>Call me, always</button>
          </>
        )}
        <Said of={act} />
      </li>
      <li>
        <h3><Standing is={reachable ? "in" : "none"} word="How you are reached" /></h3>
        <Waiting got={contacts.got.value} again={contacts.again} what="Your contacts" />
        {c && <ThisPhone person={me} contacts={c} done={both} />}
        {c && <ContactsForm key={JSON.stringify([c.ways, c.mail, c.webhook])} c={c} path={path} again={both} />}
      </li>
      <li>
        <h3><Standing is={test.works ? "in" : "none"} word="See a page arrive" /></h3>
        <p>{reachable ? "Press, then look at your phone or mail." : "First say how you are reached."}</p>
        <button class="solid bigpress" disabled={test.busy || !reachable} onClick={() => void test.start()}>{test.busy ? "On its way…" : "Send me a test page"}</button>
        <Said of={test.act} />
        <TestResults tests={test.tests} />
        {test.works && <p><b>Handed over.</b> If it is on your phone or in your mail, wetside can reach you. If it is not, look into the junk folder, or use another contact method.</p>}
      </li>
    </ol>
  );
}
