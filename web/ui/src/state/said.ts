import { inUnits } from "../words/inunits";
import { degrees, volumes } from "./prefs";

/** A text of the server in the units that this reader chose. */
export const said = (text: string): string => inUnits(text, degrees.value, volumes.value);
