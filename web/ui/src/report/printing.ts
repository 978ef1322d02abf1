import { signal } from "@preact/signals";

/** True while the page is put on paper: it is drawn for the sheet, whatever the screen was. */
export const printing = signal(false);

if (typeof matchMedia === "function") {
  const paper = matchMedia("print");
  printing.value = paper.matches;
  paper.addEventListener?.("change", (e) => (printing.value = e.matches));
}
addEventListener("beforeprint", () => (printing.value = true));
addEventListener("afterprint", () => (printing.value = false));
