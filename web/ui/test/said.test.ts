import { readFileSync } from "node:fs";
import { expect, it } from "vitest";
import { inUnits } from "../src/words/inunits";

// The same texts are read by the test of internal/lab; the factors' sources
// stand in the file.
const file = JSON.parse(readFileSync("../../testdata/units/texts.json", "utf8")) as { texts: { said: string; read: string }[] };

it("has texts to read", () => expect(file.texts.length).toBeGreaterThan(10));

it.each(file.texts)("$said", ({ said, read }) => {
  expect(inUnits(said, "F", "gal")).toBe(read);
  expect(inUnits(read, "F", "gal")).toBe(read);
});

it("leaves a text as it was written to who chose nothing, and a lone l to nobody", () => {
  expect(inUnits("38.6 °C, 2.8 l", "C", "l")).toBe("38.6 °C, 2.8 L");
});
