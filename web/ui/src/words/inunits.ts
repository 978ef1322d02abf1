import { inDegrees, inVolume, type Degrees, type Volumes } from "./measure";

// A server's text is written in degrees Celsius and liters, and read in what
// the reader chose: the same grammar as internal/lab/units.go, held together by
// testdata/units/texts.json. A difference of temperatures carries a sign, or a
// word such as "too" behind it.
const TEMP = /([+\-−±]?)(\d+(?:\.\d+)?)(?:( to | and |–)(\d+(?:\.\d+)?))?([ \u00a0])°C( \(-?\d+ °F\)| too | warm| cool| over | more| less| higher| lower| off| above| below| closer| from )?/g;
const VOLUME = /(\d+(?:\.\d+)?)(?:( of | to |–)(\d+(?:\.\d+)?))?([ \u00a0])[lL](?=[^\p{L}\d-]|$)/gu;

/** A figure converted, with as many decimals as it had; a whole one gets one where it is none any more. */
function figure(text: string, convert: (v: number) => number): string {
  const decimals = text.split(".")[1]?.length ?? 0;
  const v = convert(Number(text));
  return decimals === 0 ? String(Math.round(v * 10) / 10) : v.toFixed(decimals);
}

/** A text as it is read in these units. */
export function inUnits(text: string, degrees: Degrees, volumes: Volumes): string {
  let out = text;
  if (degrees === "F" && out.includes("°C")) {
    out = out.replace(TEMP, (all: string, sign: string, first: string, mid: string | undefined, second: string | undefined, space: string, after = "") => {
      if (after.endsWith("°F)")) return all; // it says both
      const by = (v: number): number => (sign !== "" || after !== "" ? (v * 9) / 5 : inDegrees(v, "F"));
      return `${sign}${figure(first, by)}${mid ?? ""}${second === undefined ? "" : figure(second, by)}${space}°F${after}`;
    });
  }
  return out.replace(VOLUME, (_all: string, first: string, mid: string | undefined, second: string | undefined, space: string) => {
    const by = (s: string): string => (volumes === "l" ? s : figure(s, (v) => inVolume(v, "gal")));
    return `${by(first)}${mid ?? ""}${second === undefined ? "" : by(second)}${space}${volumes === "l" ? "L" : "gal"}`;
  });
}
