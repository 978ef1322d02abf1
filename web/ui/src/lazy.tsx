import type { ComponentType, JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";

/** A page whose script is fetched when it is first opened. */
export function lazy(load: () => Promise<ComponentType>): ComponentType {
  let ready: ComponentType | null = null;
  return function Lazy(): JSX.Element {
    const part = useSignal<{ made: ComponentType } | null>(ready && { made: ready });
    const trouble = useSignal(false);
    const fetchIt = (): void => {
      trouble.value = false;
      load().then(
        (made) => {
          ready = made;
          part.value = { made };
        },
        () => (trouble.value = true),
      );
    };
    useEffect(() => {
      if (!ready) fetchIt();
    }, []);
    if (part.value) {
      const Made = part.value.made;
      return <Made />;
    }
    if (trouble.value) {
      return (
        <section class="list">
          <p class="trouble" role="alert">This page could not be fetched from wetside.</p>
          <button class="solid" onClick={fetchIt}>Try again</button>
        </section>
      );
    }
    return <section class="list"><p role="status">One moment…</p></section>;
  };
}
