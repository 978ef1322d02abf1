import type uPlot from "uplot";

/** The colour that a custom property comes to on this page now. */
export function ink(el: HTMLElement, name: string): string {
  const probe = document.createElement("i");
  probe.style.color = `var(${name})`;
  el.append(probe);
  const c = getComputedStyle(probe).color;
  probe.remove();
  return c;
}

/** A plot that is as wide as its box and of the page's colours, until `end`. */
export interface Kept {
  readonly plot: uPlot;
  end(): void;
}

/** Makes a plot in a box, and again where the scheme changes: its colours are read once. */
export function keepPlot(el: HTMLElement, make: () => uPlot, height: () => number): Kept {
  let plot = make();
  const again = (): void => {
    plot.destroy();
    plot = make();
  };
  const sized = new ResizeObserver(() => plot.setSize({ width: el.clientWidth, height: height() }));
  sized.observe(el);
  const scheme = matchMedia("(prefers-color-scheme: dark)");
  scheme.addEventListener("change", again);
  const chosen = new MutationObserver(again);
  chosen.observe(document.documentElement, { attributes: true, attributeFilter: ["data-scheme"] });
  return {
    get plot() {
      return plot;
    },
    end() {
      sized.disconnect();
      chosen.disconnect();
      scheme.removeEventListener("change", again);
      plot.destroy();
    },
  };
}
