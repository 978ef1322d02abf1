import type { Alert, Frame, Unit } from "../types";
import { ms } from "../words/time";

/** A unit with the moment its frame came, by the server's clock. */
export interface Heard {
  unit: Unit;
  heardAt: number;
}

/** Everything the socket has told: the one picture that the board draws. */
export interface Live {
  units: ReadonlyMap<string, Heard>;
  alerts: ReadonlyMap<string, Alert>;
  /** Server's clock less ours, in ms. */
  offset: number;
  ready: boolean;
}

export const empty: Live = { units: new Map(), alerts: new Map(), offset: 0, ready: false };

/** Reads one frame; null for what is none (a newer server may send more kinds). */
export function parseFrame(text: string): Frame | null {
  let v: unknown;
  try {
    v = JSON.parse(text);
  } catch {
    return null;
  }
  if (typeof v !== "object" || v === null || !("type" in v)) return null;
  const f = v as Frame;
  switch (f.type) {
    case "snapshot":
    case "beat":
      return f;
    case "unit":
      return typeof f.unit?.id === "string" ? f : null;
    case "alert":
      return typeof f.alert?.id === "string" ? f : null;
    default:
      return null;
  }
}

/** The picture after a frame. `mine` is our own clock when it came. */
export function reduce(s: Live, f: Frame, mine: number): Live {
  const sent = ms(f.at);
  const offset = sent === null ? s.offset : sent - mine;
  const heardAt = mine + offset;
  switch (f.type) {
    case "beat":
      return offset === s.offset ? s : { ...s, offset };
    case "snapshot": {
      const units = new Map(f.units.map((unit) => [unit.id, { unit, heardAt }]));
      const alerts = new Map(f.alerts.map((a) => [a.id, a]));
      return { units, alerts, offset, ready: true };
    }
    case "unit": {
      const units = new Map(s.units).set(f.unit.id, { unit: f.unit, heardAt });
      return { ...s, units, offset };
    }
    case "alert": {
      const alerts = new Map(s.alerts);
      if (f.alert.state === "closed") alerts.delete(f.alert.id);
      else alerts.set(f.alert.id, f.alert);
      return { ...s, alerts, offset };
    }
  }
}
