// Two sounds for hands that hold reels and eyes that look elsewhere: one short
// and high for taken, two low ones for not. Always beside words, never alone.

type Kind = "taken" | "refused";

let audio: AudioContext | null = null;

function tone(at: number, hertz: number, seconds: number, loud: number): void {
  if (!audio) return;
  const wave = audio.createOscillator();
  const gain = audio.createGain();
  wave.type = "triangle";
  wave.frequency.value = hertz;
  gain.gain.setValueAtTime(0.0001, at);
  gain.gain.exponentialRampToValueAtTime(loud, at + 0.01);
  gain.gain.exponentialRampToValueAtTime(0.0001, at + seconds);
  wave.connect(gain).connect(audio.destination);
  wave.start(at);
  wave.stop(at + seconds + 0.02);
}

/** Plays it, where the browser has sound and lets it out. */
export function sound(kind: Kind): void {
  try {
    audio ??= new AudioContext();
    void audio.resume();
    const now = audio.currentTime;
    if (kind === "taken") tone(now, 1180, 0.12, 0.5);
    else {
      tone(now, 240, 0.2, 0.9);
      tone(now + 0.26, 240, 0.4, 0.9);
    }
  } catch {
    // No sound here; the words say the same.
  }
}
