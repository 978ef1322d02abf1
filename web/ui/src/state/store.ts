import { batch, computed, signal, type ReadonlySignal, type Signal } from "@preact/signals";
import type { Connection, Method, Source } from "../api/source";
import { Refusal } from "../api/source";
import type { Alert, Frame, Job, JobList, Session, TraceList } from "../types";
import { startClock, tick } from "./clock";
import { Duty } from "./duty";
import { kiosk, wallKey } from "./kiosk";
import { empty, reduce, type Heard, type Live } from "./live";
import { alertOrder, laneKind, laneOrder, mayMove, quiet, urgency, type LaneKind } from "./order";
import { followPerson, takeLabUnits } from "./prefs";
import { Readings } from "./readings";
import { filmOf, heading, toDo, type Present } from "../words/todo";
import { said } from "./said";

export interface Link {
  state: "connecting" | "up" | "down";
  /** Our own clock when it went down or began to connect. */
  since: number;
}

const JOBS_EVERY_MS = 15_000;
const none: readonly Alert[] = [];

/**
 * The one store of the pages. A unit frame sets one unit's signal and nothing
 * else, so that one lane is drawn again and the others are left alone.
 */
export class Store {
  readonly session = signal<Session | null>(null);
  readonly sessionTrouble = signal("");
  /** The sign-in has ended by itself, and nobody signed out: the page stays as it is under a sign-in. */
  readonly ended = signal(false);
  /** Why wetside, though it answers, shows nothing: its own words. */
  readonly standsBy = signal("");
  readonly link = signal<Link>({ state: "connecting", since: Date.now() });
  readonly ready = signal(false);
  readonly order = signal<string[]>([]);
  /** How each lane stands; a new map only where one has changed. */
  readonly kinds = signal<ReadonlyMap<string, LaneKind>>(new Map());
  /** How many alerts are open, and how many of them go on with nobody having acknowledged them. */
  readonly open = signal({ all: 0, loud: 0 });
  /** Whether alerts would reach a person. */
  readonly duty: Duty;
  /** When a hand was last on the board, by our own clock. */
  readonly lastTouch = signal(-Infinity);
  /** Called once a second, and when an alert comes. */
  readonly eachSecond = new Set<(now: number) => void>();
  readonly jobs = signal<Job[]>([]);
  readonly readings: Readings;
  /** The server's clock, once a second. */
  readonly now: ReadonlySignal<number>;
  /** The same, but standing still since the socket fell: nothing is known of what came after. */
  readonly seen: ReadonlySignal<number>;
  /** The alert that came last and pages: read out, once. */
  readonly spoken = signal("");

  /** How often something was entered here: what a page shows is then asked for anew. */
  readonly entered = signal(0);

  readonly source: Source;
  #live: Live = empty;
  #offset = signal(0);
  #units = new Map<string, Signal<Heard>>();
  #alerts = new Map<string, Signal<readonly Alert[]>>();
  #connection: Connection | null = null;
  #handDown = false;
  #person: { name: string; stop: () => void } | null = null;
  #stopClock: (() => void) | null = null;
  #jobsAt = 0;

  constructor(source: Source) {
    this.source = this.#noticing(source);
    this.readings = new Readings((p) => this.source.get<TraceList>(p));
    this.duty = new Duty(this.source);
    this.now = computed(() => tick.value + this.#offset.value);
    this.seen = computed(() => {
      const { state, since } = this.link.value;
      return state === "down" ? Math.min(this.now.value, since + this.#offset.value) : this.now.value;
    });
  }

  unit(id: string): ReadonlySignal<Heard> | undefined {
    return this.#units.get(id);
  }

  units(): Heard[] {
    return [...this.#live.units.values()];
  }

  nameOf(id: string): string {
    const u = this.#live.units.get(id)?.unit;
    return u?.name || (id.split("/")[1] ?? id);
  }

  /** How things stand with a unit, for a text about an alert of it. */
  present(id: string, at = this.now.peek()): Present {
    return { at, film: filmOf(this.#live.units.get(id)?.unit) };
  }

  alertsOf(id: string): ReadonlySignal<readonly Alert[]> {
    let s = this.#alerts.get(id);
    if (!s) this.#alerts.set(id, (s = signal(none)));
    return s;
  }

  /** Every alert that is open, those of the monitor itself with them. */
  allAlerts(): Iterable<Alert> {
    return this.#live.alerts.values();
  }

  /** Whoever reads may only look. */
  get mayAct(): boolean {
    const role = this.session.value?.role;
    return !kiosk.value && (role === "operator" || role === "lead");
  }

  /** Tells that a hand is on the board: lanes keep still for a moment, and for as long as it presses. */
  touched(down?: boolean): void {
    if (down !== undefined) this.#handDown = down;
    this.lastTouch.value = Date.now();
  }

  /** Asks who is signed in, then connects if someone is. */
  async start(): Promise<void> {
    this.#stopClock ??= startClock(() => this.#woke());
    await this.refreshSession();
    tick.subscribe(() => this.#eachSecond());
  }

  async refreshSession(): Promise<void> {
    try {
      const key = wallKey();
      this.#takeSession(await (key ? this.source.send<Session>("POST", "/session/wall", { key }) : this.source.get<Session>("/session")));
      this.sessionTrouble.value = "";
      this.standsBy.value = "";
    } catch (e) {
      if (e instanceof Refusal && e.status === 401) {
        this.#takeSession({ setup_needed: false, name: null, role: null, by: null });
        this.sessionTrouble.value = "";
      } else {
        this.sessionTrouble.value = e instanceof Error ? e.message : String(e);
        this.standsBy.value = e instanceof Refusal && e.status === 503 ? e.message : "";
        return;
      }
    }
    const name = this.ended.value ? "" : this.session.value?.name;
    if (name) this.#connect();
    else this.disconnect();
    if (!this.ended.value) void this.#followPerson(name ?? "");
  }

  /** Takes who is signed in. Where that ended by itself the page keeps what it shows, and what was begun on it. */
  #takeSession(s: Session): void {
    const was = this.session.peek()?.name;
    if (was && !s.name && !s.setup_needed && !kiosk.peek()) {
      this.ended.value = true;
      return;
    }
    batch(() => {
      this.session.value = s;
      this.ended.value = false;
    });
  }

  /** Signs out, as a person wants it. */
  async signOut(): Promise<void> {
    try {
      await this.source.send("DELETE", "/session");
    } finally {
      this.session.value = { setup_needed: false, name: null, role: null, by: null };
      this.disconnect();
      await this.refreshSession();
    }
  }

  /** The same source, but a refusal for want of a sign-in is noticed wherever it comes. */
  #noticing(source: Source): Source {
    const noticed = async <T>(path: string, answer: Promise<T>): Promise<T> => {
      try {
        return await answer;
      } catch (e) {
        if (e instanceof Refusal && e.status === 401 && !path.startsWith("/session") && !this.ended.peek()) void this.refreshSession();
        throw e;
      }
    };
    return { listen: (on) => source.listen(on), get: (path) => noticed(path, source.get(path)), send: (method, path, body) => noticed(path, source.send(method, path, body)) };
  }

  async #followPerson(name: string): Promise<void> {
    if (kiosk.peek() && wallKey() !== "" && name !== "") await takeLabUnits(this.source);
    if ((this.#person?.name ?? "") === name || (kiosk.peek() && name !== "")) return;
    this.#person?.stop();
    this.#person = name === "" ? null : { name, stop: () => undefined };
    const mine = this.#person;
    if (mine) mine.stop = await followPerson(this.source);
    if (mine && mine !== this.#person) mine.stop();
  }

  disconnect(): void {
    this.#connection?.close();
    this.#connection = null;
  }

  /** Does something that only a signed-in person may, and follows a lost session. */
  async act<T>(method: Method, path: string, body?: unknown): Promise<T> {
    try {
      const answer = await this.source.send<T>(method, path, body);
      this.entered.value++;
      return answer;
    } catch (e) {
      if (e instanceof Refusal && e.status === 401) await this.refreshSession();
      throw e;
    }
  }

  /** Takes an alert as the API answered it, before the socket says the same. */
  takeAlert(alert: Alert): void {
    this.#frame({ type: "alert", at: new Date(Date.now() + this.#live.offset).toISOString(), alert });
  }

  #connect(): void {
    if (this.#connection) return;
    this.link.value = { state: "connecting", since: Date.now() };
    this.#connection = this.source.listen({
      frame: (f) => this.#frame(f),
      up: () => undefined,
      down: () => this.#down(),
    });
  }

  #down(): void {
    if (this.link.value.state !== "down") this.link.value = { state: "down", since: Date.now() };
    this.readings.forgetLoads();
    // A refused upgrade says nothing of why: ask whether we are still signed in.
    void this.refreshSession();
  }

  #woke(): void {
    this.readings.forgetLoads();
    this.#connection?.check(true);
    this.duty.stale();
    this.#jobsAt = 0;
    if (this.sessionTrouble.value) void this.refreshSession();
  }

  #frame(f: Frame): void {
    const before = this.#live;
    const mine = Date.now();
    this.#live = reduce(before, f, mine);
    batch(() => {
      if (Math.abs(this.#live.offset - this.#offset.peek()) > 250) this.#offset.value = this.#live.offset;
      if (f.type === "snapshot") this.#takeSnapshot();
      else if (f.type === "unit") this.#takeUnit(f.unit.id);
      else if (f.type === "alert") this.#takeAlerts(f.alert, before);
    });
  }

  #takeSnapshot(): void {
    for (const id of this.#live.units.keys()) this.#takeUnit(id);
    for (const id of [...this.#units.keys()]) if (!this.#live.units.has(id)) this.#units.delete(id);
    for (const id of new Set([...this.#alerts.keys(), ...[...this.#live.alerts.values()].map((a) => a.unit)])) {
      this.#sortAlerts(id);
    }
    this.link.value = { state: "up", since: Date.now() };
    this.ready.value = true;
    this.order.value = this.#wanted();
    this.#sortKinds();
    void this.#loadJobs();
  }

  #sortKinds(): void {
    const now = this.now.peek();
    const next = new Map<string, LaneKind>();
    for (const { unit } of this.#live.units.values()) next.set(unit.id, laneKind(unit, this.alertsOf(unit.id).peek(), now));
    const was = this.kinds.peek();
    if (was.size === next.size && [...next].every(([id, k]) => was.get(id) === k)) return;
    this.kinds.value = next;
  }

  #takeUnit(id: string): void {
    const heard = this.#live.units.get(id);
    if (!heard) return;
    const s = this.#units.get(id);
    if (s) s.value = heard;
    else {
      this.#units.set(id, signal(heard));
      if (this.ready.value) this.order.value = [...this.order.value, id];
    }
    this.readings.take(heard.unit, heard.heardAt);
  }

  #takeAlerts(a: Alert, before: Live): void {
    this.#sortAlerts(a.unit);
    const was = before.alerts.get(a.id);
    const isNew = !was || was.occurrence !== a.occurrence;
    if (isNew && a.state === "unacknowledged" && a.priority !== "low") {
      this.spoken.value = `${a.priority}: ${this.nameOf(a.unit)}. ${said(`${heading(a, this.present(a.unit))} ${toDo(a, this.present(a.unit))}`)}`;
    }
    this.#sortKinds();
    this.duty.stale();
    void this.#loadJobs();
    if (isNew) for (const f of this.eachSecond) f(Date.now());
  }

  #countOpen(): void {
    const list = [...this.#live.alerts.values()].filter((a) => a.state !== "closed");
    const next = { all: list.length, loud: list.filter((a) => a.state === "unacknowledged" && !quiet(a, this.now.peek())).length };
    const was = this.open.peek();
    if (was.all !== next.all || was.loud !== next.loud) this.open.value = next;
  }

  #sortAlerts(unit: string): void {
    this.#countOpen();
    const mine = [...this.#live.alerts.values()].filter((a) => a.unit === unit);
    const s = this.alertsOf(unit) as Signal<readonly Alert[]>;
    s.value = mine.length === 0 ? none : alertOrder(mine);
  }

  #wanted(): string[] {
    const units = this.units().map((h) => h.unit);
    return laneOrder(units, (id) => this.alertsOf(id).peek(), this.now.peek());
  }

  #eachSecond(): void {
    const wanting = this.wanting();
    const title = wanting > 0 ? `(${wanting}) wetside` : "wetside";
    if (document.title !== title) document.title = title;
    if (!this.ready.peek()) return;
    const mine = Date.now();
    this.#sortKinds();
    if (this.link.peek().state === "up") this.duty.each(mine);
    for (const f of this.eachSecond) f(mine);
    if (Math.abs(mine - this.#jobsAt) > JOBS_EVERY_MS) void this.#loadJobs();
    if (this.#handDown || !mayMove(mine, this.lastTouch.peek())) return;
    const wanted = this.#wanted();
    if (wanted.join() !== this.order.peek().join()) this.order.value = wanted;
  }

  async #loadJobs(): Promise<void> {
    if (Math.abs(Date.now() - this.#jobsAt) < 1000) return;
    this.#jobsAt = Date.now();
    try {
      this.jobs.value = (await this.source.get<JobList>("/next-jobs")).jobs;
    } catch {
      // The runs' own ends still show on the line; asked again in a moment.
    }
  }

  /** How many lanes want someone now, for the page's title. */
  wanting(): number {
    const now = this.now.peek();
    const own = this.alertsOf("").peek().some((a) => a.priority !== "low" && a.state === "unacknowledged") ? 1 : 0;
    return own + this.units().filter((h) => urgency(h.unit, this.alertsOf(h.unit.id).peek(), now) >= 30).length;
  }
}
