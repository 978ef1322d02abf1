import type { JSX } from "preact";
import { Credentials } from "./Credentials";

export const SignIn = (): JSX.Element => (
  <Credentials
    title="Sign in"
    lead="The board and the alerts are for those who work here."
    path="/session"
    button="Sign in"
    fresh={false}
  />
);
