import type { ComponentChildren, JSX } from "preact";

interface Props {
  title: string;
  children: ComponentChildren;
  /** Left out on paper. */
  screen?: boolean;
}

/** One part of the report: its title in the margin. */
export function Part({ title, children, screen = false }: Props): JSX.Element {
  return (
    <section class={screen ? "part screen" : "part"} aria-label={title}>
      <h2>{title}</h2>
      <div class="body">{children}</div>
    </section>
  );
}
