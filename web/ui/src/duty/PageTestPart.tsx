import type { JSX } from "preact";
import { useEffect } from "preact/hooks";
import { useSignal } from "@preact/signals";
import { useStore } from "../context";
import { Part, Said, Standing, type Stand } from "../shared/parts";
import { useSend } from "../shared/useSend";
import { wayWord } from "../words/alert";
import { tryWords } from "../words/duty";
import { moment, ms } from "../words/time";
import type { PageTest } from "./types";
import type { PageTestList } from "../types";

const LOOK_EVERY_MS = 1500;
const LOOK_FOR_MS = 120_000;

export interface Testing {
  start(): Promise<void>;
  busy: boolean;
  tests: PageTest[];
  /** At least one way has handed its page over. */
  works: boolean;
  act: ReturnType<typeof useSend>;
}

/** Sends a test page by each way and follows what becomes of it. */
export function usePageTest(person: string): Testing {
  const store = useStore();
  const act = useSend();
  const tests = useSignal<PageTest[]>([]);
  const until = useSignal(0);
  const path = `/people/${encodeURIComponent(person)}/page-test`;
  useEffect(() => {
    if (until.value === 0) return;
    let gone = false;
    const look = async (): Promise<void> => {
      try {
        const list = (await store.source.get<PageTestList>(path)).tests;
        if (gone) return;
        tests.value = list;
        if (!list.some((t) => t.state === "waiting") || Date.now() > until.peek()) until.value = 0;
      } catch {
        // Looked at again in a moment; the time limit ends it.
        if (!gone && Date.now() > until.peek()) until.value = 0;
      }
    };
    void look();
    const timer = setInterval(() => void look(), LOOK_EVERY_MS);
    return () => {
      gone = true;
      clearInterval(timer);
    };
  }, [until.value === 0, path]);
  useEffect(() => {
    void store.source.get<PageTestList>(path).then((a) => (tests.value = a.tests), () => undefined);
  }, [path]);
  const start = async (): Promise<void> => {
    if (await act.send("POST", path)) until.value = Date.now() + LOOK_FOR_MS;
  };
  return { start, busy: act.busy.value || until.value > 0, tests: tests.value, works: tests.value.some((t) => t.state === "sent"), act };
}

export function PageTestPart({ person, ways }: { person: string; ways: readonly string[] }): JSX.Element {
  const t = usePageTest(person);
  return (
    <Part title="Try it" note="A test page by each contact method. Nobody else is called.">
      <button class="solid" disabled={t.busy || ways.length === 0} onClick={() => void t.start()}>{t.busy ? "On its way…" : "Send me a test page"}</button>
      {ways.length === 0 && <p>First say how you are reached: this device, mail or a webhook.</p>}
      <Said of={t.act} />
      <TestResults tests={t.tests} />
    </Part>
  );
}

export function TestResults({ tests }: { tests: readonly PageTest[] }): JSX.Element | null {
  const now = useStore().now.value;
  if (tests.length === 0) return null;
  return (
    <ul class="lines" aria-live="polite">
      {tests.slice(0, 6).map((t) => (
        <li key={t.id}>
          <time class="num">{moment(ms(t.at) ?? now, now)}</time>
          <Standing is={standOf(t)} word={wayWord(t.way)} />
          <span>{resultWords(t)}</span>
        </li>
      ))}
    </ul>
  );
}

function standOf(t: PageTest): Stand {
  if (t.state === "sent") return "in";
  if (t.state === "dropped") return t.tries.at(-1)?.outcome === "unavailable" ? "none" : "out";
  return "soon";
}

/** What became of a test page; that it was handed over is not yet that it was seen. */
export function resultWords(t: PageTest): string {
  const last = t.tries.at(-1);
  if (t.state === "sent") return `${last ? tryWords(last) : "handed over"}. Check whether it came.`;
  if (t.state === "dropped") return last ? tryWords(last) : "was not sent";
  return last ? `${tryWords(last)}; it is tried again` : "on its way";
}
