import type { JSX } from "preact";
import { kiosk } from "../state/kiosk";
import { Credentials } from "./Credentials";

export const SignIn = (): JSX.Element => (
  <Credentials
    title="Sign in"
    lead={kiosk.value ? "This wall's link holds no longer. A lead makes a new one under Settings, Screens; or sign in here." : "The board and the alerts are for those who work here."}
    path="/session"
    button="Sign in"
    fresh={false}
  />
);
