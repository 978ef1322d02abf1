import { createContext } from "preact";
import { useContext } from "preact/hooks";
import type { Store } from "./state/store";

export const StoreContext = createContext<Store | null>(null);

/** The store of the page; every part below App has it. */
export function useStore(): Store {
  const s = useContext(StoreContext);
  if (!s) throw new Error("useStore outside of App");
  return s;
}
