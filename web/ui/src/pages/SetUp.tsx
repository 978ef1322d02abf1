import type { JSX } from "preact";
import { Credentials } from "./Credentials";

export const SetUp = (): JSX.Element => (
  <Credentials
    title="Set up wetside"
    lead="Nobody can sign in yet. Choose the name and password of the first lead: the person who accepts units and lets others in. Until then wetside answers this machine only."
    path="/setup"
    button="Set up and open the board"
    fresh={true}
  />
);
