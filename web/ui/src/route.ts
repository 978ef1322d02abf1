import { signal } from "@preact/signals";

export type Route = "board" | "alerts" | "runs";

const read = (): Route => {
  const name = location.hash.replace(/^#\/?/, "");
  return name === "alerts" || name === "runs" ? name : "board";
};

/** The page that is shown; links are plain anchors to #/alerts and so on. */
export const route = signal<Route>(read());

addEventListener("hashchange", () => (route.value = read()));
