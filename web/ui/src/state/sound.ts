import { computed, effect, signal } from "@preact/signals";
import type { Alert, Priority } from "../types";
import { Caller, type Call } from "./calls";
import { soundOn, speech } from "./prefs";
import { toDo, type Present } from "../words/todo";
import { said } from "./said";

// The board's own tones. Each priority has its own figure of notes, made to be
// told apart through running water: urgent climbs, three notes twice; high is
// two notes that fall; low is one soft note. Square corners are rounded off so
// that nothing clicks or startles.

interface Note {
  at: number;
  hertz: number;
  long: number;
  loud: number;
}

const climb = (at: number): Note[] => [
  { at, hertz: 523.25, long: 0.16, loud: 0.5 },
  { at: at + 0.19, hertz: 698.46, long: 0.16, loud: 0.55 },
  { at: at + 0.38, hertz: 932.33, long: 0.34, loud: 0.6 },
];

export const figures: Record<Priority, Note[]> = {
  urgent: [...climb(0), ...climb(0.95)],
  high: [
    { at: 0, hertz: 587.33, long: 0.22, loud: 0.4 },
    { at: 0.27, hertz: 440, long: 0.4, loud: 0.4 },
  ],
  low: [{ at: 0, hertz: 392, long: 0.3, loud: 0.2 }],
};

/** off: the reader wants none. locked: the browser lets none out until the page is touched. none: there is no sound here. */
export type SoundState = "ready" | "locked" | "off" | "none";

const audible = signal<"unknown" | "running" | "suspended" | "none">("unknown");

export const soundState = computed<SoundState>(() => {
  if (soundOn.value === "off") return "off";
  if (audible.value === "none") return "none";
  return audible.value === "running" ? "ready" : "locked";
});

let audio: AudioContext | null = null;

function open(): AudioContext | null {
  if (audio) return audio;
  try {
    audio = new AudioContext();
  } catch {
    audible.value = "none";
    return null;
  }
  const look = (): void => {
    audible.value = audio?.state === "running" ? "running" : "suspended";
  };
  audio.onstatechange = look;
  look();
  return audio;
}

/** Asks the browser to let sound out; it does so only while the page is touched. */
export function unlock(): void {
  const a = open();
  if (a && a.state !== "running") void a.resume().catch(() => undefined);
}

/** Plays the figure of a priority; nothing where sound is not let out. */
export function play(priority: Priority): void {
  const a = open();
  if (!a || a.state !== "running") return;
  const out = a.createGain();
  out.connect(a.destination);
  const start = a.currentTime + 0.02;
  const notes = figures[priority];
  let open_ = notes.length;
  for (const n of notes) {
    const wave = a.createOscillator();
    const shape = a.createGain();
    const t = start + n.at;
    wave.type = "triangle";
    wave.frequency.value = n.hertz;
    shape.gain.setValueAtTime(0.0001, t);
    shape.gain.exponentialRampToValueAtTime(n.loud, t + 0.03);
    shape.gain.setValueAtTime(n.loud, t + n.long * 0.6);
    shape.gain.exponentialRampToValueAtTime(0.0001, t + n.long);
    wave.connect(shape).connect(out);
    wave.start(t);
    wave.stop(t + n.long + 0.05);
    wave.onended = () => {
      shape.disconnect();
      if (--open_ === 0) out.disconnect();
    };
  }
}

/** Says an alert in words, after its tones, where the reader wants that and the machine can. */
function speak(call: Call, name: string, now: Present): void {
  if (speech.value !== "on" || !("speechSynthesis" in globalThis)) return;
  const words = new SpeechSynthesisUtterance(`${name}. ${said(call.alert.message)}. ${call.again ? "" : said(toDo(call.alert, now))}`);
  words.lang = "en";
  words.rate = 0.95;
  speechSynthesis.cancel();
  speechSynthesis.speak(words);
}

interface Board {
  allAlerts(): Iterable<Alert>;
  nameOf(unit: string): string;
  present(unit: string): Present;
}

/** Calls aloud what the board shows; returns what to do each second. */
export function callAloud(board: Board): (now: number) => void {
  const caller = new Caller();
  open();
  const touch = (): void => {
    if (soundOn.peek() !== "off") unlock();
  };
  for (const e of ["pointerdown", "keydown"] as const) addEventListener(e, touch, { passive: true });
  effect(() => {
    if (speech.value === "off" && "speechSynthesis" in globalThis) speechSynthesis.cancel();
  });
  return (now) => {
    const call = caller.next(board.allAlerts(), now);
    if (call === null || soundState.peek() !== "ready") return;
    if (soundOn.peek() === "urgent" && call.priority !== "urgent") return;
    play(call.priority);
    speak(call, call.alert.unit ? board.nameOf(call.alert.unit) : "Wetside itself", board.present(call.alert.unit));
  };
}
