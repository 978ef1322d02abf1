import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { Credentials } from "./Credentials";

/** The first of five steps: who sets the lab up. The others follow at #/set-up once somebody is signed in. */
export function SetUp(): JSX.Element {
  useEffect(() => {
    if (!location.hash.startsWith("#/set-up")) location.hash = "#/set-up";
  }, []);
  return (
    <Credentials
      title="Set up wetside"
      lead="Step 1 of 5: you. Nobody can sign in yet. Choose the name and password of the first lead: the person who accepts units and lets others in. The set-up code shows that it is you who started wetside. The lab, its units, who is called and the wall come after it."
      path="/setup"
      button="Set up, and go on to the lab"
      fresh={true}
    />
  );
}
