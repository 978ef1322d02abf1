import { render, type ComponentType } from "preact";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Source } from "../src/api/source";
import { Refusal } from "../src/api/source";
import { AlertPage } from "../src/alert/AlertPage";
import { StoreContext } from "../src/context";
import { secretOnce } from "../src/duty/ContactsPart";
import { DutyPage } from "../src/duty/DutyPage";
import { FiguresPage } from "../src/figures/FiguresPage";
import { StartPage } from "../src/load/StartPage";
import { HandOverPage } from "../src/handover/HandOverPage";
import { subject } from "../src/route";
import { madeLink } from "../src/settings/ScreensPart";
import { SettingsPage } from "../src/settings/SettingsPage";
import { SetUpSteps } from "../src/setup/SetUpSteps";
import { Store } from "../src/state/store";
import type { UserRole } from "../src/types";
import { ChecksPart } from "../src/unit/ChecksPart";
import { NotesPart } from "../src/unit/NotesPart";
import { StandingPart } from "../src/unit/StandingPart";
import { offices } from "../fixture/offices";
import { unit } from "./make";

let root: HTMLElement;
let store: Store;
let sent: [string, string, unknown][];

const nothing: Source = {
  listen(on) {
    on.frame({ type: "snapshot", at: new Date().toISOString(), units: [unit("tern-street/plover", { name: "Plover" })], alerts: [] });
    return { check: () => undefined, close: () => undefined };
  },
  get: (path) => Promise.reject(new Refusal(404, `no ${path}`)),
  send: (_m, path) => Promise.reject(new Refusal(403, `no ${path}`)),
};

/** A page before the invented offices, which take in what is sent. */
async function open(Page: ComponentType, role: UserRole = "lead", query = ""): Promise<void> {
  const lab = offices(new URLSearchParams(query), nothing);
  const source: Source = {
    listen: (on) => nothing.listen(on),
    async get<T>(path: string): Promise<T> {
      if (path.startsWith("/session")) return { setup_needed: false, name: "Ana", role } as T;
      if (path === "/next-jobs") return { jobs: [] } as T;
      if (path.startsWith("/units?") || path === "/units") return { units: [unit("tern-street/plover", { name: "Plover" }), unit("tern-street/heron", { name: "", standing: "new" })] } as T;
      return lab.get<T>(path);
    },
    async send<T>(method: "POST", path: string, body?: unknown): Promise<T> {
      sent.push([method, path, body]);
      if (path.startsWith("/units/") && (method as string) === "PATCH") return {} as T;
      return lab.send<T>(method, path, body);
    },
  } as Source;
  store = new Store(source);
  await store.refreshSession();
  render(<StoreContext.Provider value={store}><Page /></StoreContext.Provider>, root);
}

const text = (): string => root.textContent ?? "";
const shown = (want: string): Promise<void> => vi.waitFor(() => expect(text()).toContain(want), { timeout: 5000, interval: 5 });
const button = (words: string): HTMLButtonElement => {
  const b = [...root.querySelectorAll("button")].find((x) => (x.textContent ?? "").includes(words));
  if (!b) throw new Error(`no button says ${words}`);
  return b;
};
function type(label: string, value: string): HTMLInputElement {
  const l = [...root.querySelectorAll("label")].find((x) => (x.textContent ?? "").startsWith(label));
  const field = l?.querySelector<HTMLInputElement>("input, textarea, select");
  if (!field) throw new Error(`no field is called ${label}`);
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  return field;
}
const submit = (field: HTMLInputElement): boolean | undefined => field.form?.dispatchEvent(new Event("submit", { bubbles: true, cancelable: true }));

beforeEach(() => {
  root = document.createElement("div");
  document.body.append(root);
  sent = [];
  subject.value = "";
  secretOnce.value = null;
  madeLink.value = null;
  localStorage.clear();
});
afterEach(() => {
  render(null, root);
  root.remove();
  store.disconnect();
});

describe("duty", () => {
  it("says who is on, what is wrong, and the steps in words", async () => {
    await open(DutyPage);
    await shown("On now");
    for (const words of ["Next", "Nobody is on call from Sat 20:00", "after 1 min the second on call", "Swaps for a day", "Who changed what"]) expect(text()).toContain(words);
    expect(root.querySelector(".week")?.getAttribute("role")).toBe("img");
  });
  it("never writes over what somebody else saved meanwhile", async () => {
    await open(DutyPage, "lead", "clash");
    await shown("Change hours and steps");
    button("Change hours and steps").click();
    await shown("Save the plan");
    submit(type("Time zone of the lab", "Europe/Dublin"));
    await shown("changed the plan while you did");
    expect(sent).toHaveLength(1);
    expect(button("Save the plan").disabled).toBe(true);
    button("Put mine in its place").click();
    await vi.waitFor(() => expect(sent).toHaveLength(2));
    const versions = sent.map(([, , b]) => (b as { version: number; plan: { time_zone: string } }));
    expect(versions.map((v) => v.version)).toEqual([3, 4]);
    expect(versions[1]?.plan.time_zone).toBe("Europe/Dublin");
    await shown("Change hours and steps");
  });
  it("refuses a line that names nobody before it is sent", async () => {
    await open(DutyPage);
    await shown("Change hours and steps");
    button("Change hours and steps").click();
    await shown("Remove line 1");
    root.querySelector<HTMLButtonElement>('[aria-label="Remove Ana from line 2"]')?.click();
    await vi.waitFor(() => expect(root.querySelector('[aria-label="Remove Ana from line 2"]')).toBeNull());
    submit(type("Time zone of the lab", "UTC"));
    await shown("Line 2 of the hours names nobody");
    expect(sent).toEqual([]);
  });
  it("goes dark for ten minutes and comes back", async () => {
    await open(DutyPage, "operator");
    await shown("I'm loading in the dark");
    button("I'm loading in the dark").click();
    await shown("I can look again");
    button("I can look again").click();
    await shown("I'm loading in the dark, 10 minutes");
    expect(sent.map(([, p, b]) => [p, b])).toEqual([["/duty/dark", { minutes: 10 }], ["/duty/dark", { minutes: 0 }]]);
  });
  it("shows the key of a webhook once", async () => {
    await open(DutyPage);
    await shown("Mail, webhook");
    submit(type("Webhook, for an SMS", "https://sms.example/in"));
    await shown("whsec_");
    expect(text()).toContain("It is shown this once");
    button("I have it").click();
    await vi.waitFor(() => expect(text()).not.toContain("whsec_MfKQ"));
  });
  it("shows push that is not there as unavailable, with why, and not as a failure", async () => {
    await open(DutyPage, "lead", "nopush");
    await shown("Unavailable here");
    expect(text()).toContain("not served over https");
    expect(root.querySelector(".thisphone .trouble")).toBeNull();
  });
  it("sends a test page and says what became of it", async () => {
    await open(DutyPage);
    await shown("Send me a test page");
    button("Send me a test page").click();
    await shown("handed over in 184 ms. Check whether it came.");
    expect(sent).toEqual([["POST", "/people/Ana/page-test", undefined]]);
  });
  it("lets a viewer read, and change nothing but how they are reached", async () => {
    await open(DutyPage, "viewer");
    await shown("On now");
    for (const words of ["Change hours", "Enter the swap", "loading in the dark, 10"]) expect([...root.querySelectorAll("button")].some((b) => b.textContent?.includes(words))).toBe(false);
  });
});

describe("one alert", () => {
  it("is whole: what, what to do, facts, history, pages", async () => {
    subject.value = "a1";
    await open(AlertPage, "viewer", "");
    await shown("Developer 38.4 °C (aim 37.8 °C)");
    for (const words of ["press to drain (12 s early)", "If nothing is done", "Lowest allowed", "37.65 °C", "priority changed: heading past the inspect edge"]) await shown(words);
    expect([...root.querySelectorAll("button")].some((b) => b.textContent === "Acknowledge")).toBe(false);
  });
  it("says in a whole sentence that there is none", async () => {
    subject.value = "zz";
    await open(AlertPage);
    await shown("No such alert");
  });
});

describe("figures", () => {
  it("stand beside what is acceptable, in shape and word; another period asks anew", async () => {
    await open(FiguresPage, "viewer");
    await shown("Most pages to one person in ten minutes");
    expect(text()).toContain("too many");
    expect(text().indexOf("waste nearly full")).toBeLessThan(text().indexOf("unit silent"));
    button("30 days").click();
    await vi.waitFor(() => expect(button("30 days").getAttribute("aria-pressed")).toBe("true"));
    await shown("waste nearly full");
  });
  it("of nothing say so, and what to do", async () => {
    await open(FiguresPage, "viewer", "fresh");
    await shown("Nothing was raised in this time");
  });
});

describe("figures that changed", () => {
  it("are shown until a lead has read them, and never again; the lab's own are said to stand", async () => {
    await open(StartPage);
    await shown("Figures that changed");
    expect(text()).toContain("Your own figure stands.");
    button("Read").click();
    await vi.waitFor(() => expect(sent).toEqual([["POST", "/figure-changes/seen", { lot: 1 }]]));
    await vi.waitFor(() => expect(text()).not.toContain("Figures that changed"), { timeout: 5000 });
  });
  it("are not pressed away by who is no lead", async () => {
    await open(StartPage, "operator");
    await shown("A lead presses it away");
    expect([...root.querySelectorAll("button")].some((b) => b.textContent === "Read")).toBe(false);
  });
  it("are no news to a new lab", async () => {
    await open(StartPage, "lead", "fresh");
    await shown("Start of the day");
    await vi.waitFor(() => expect(store.session.value?.role).toBe("lead"));
    expect(text()).not.toContain("Figures that changed");
  });
});

describe("figures of the rules", () => {
  it("say where each is from", async () => {
    subject.value = "rules";
    await open(SettingsPage);
    await shown("silent_s");
    expect(text()).toContain("the lab's own");
  });
});

describe("hand-over", () => {
  it("says plainly that there is nothing", async () => {
    await open(HandOverPage, "viewer", "calm");
    await shown("Nothing is open, nothing runs, nothing waits.");
  });
});

describe("settings", () => {
  it("closes the lab by one press and opens it again", async () => {
    await open(SettingsPage, "operator");
    await shown("Close the lab");
    expect(root.querySelector("form")).toBeNull();
    button("Close the lab").click();
    await shown("Open the lab");
    button("Open the lab").click();
    await shown("Close the lab");
    expect(sent.map(([, , b]) => b)).toEqual([{ closed: true }, { closed: false }]);
  });
  it("calls a day without hours open where no day has any, else closed", async () => {
    await open(SettingsPage);
    await shown("Clock and hours");
    const said = (): (string | undefined)[] => ["Monday", "Tuesday"].map((d) => [...root.querySelectorAll("label")].find((l) => l.textContent === d)?.querySelector("input")?.placeholder);
    for (const l of root.querySelectorAll(".weekhours label")) type(l.textContent ?? "", "");
    await vi.waitFor(() => expect(said()).toEqual(["open", "open"]));
    type("Tuesday", "09:00-17:00");
    await vi.waitFor(() => expect(said()).toEqual(["closed", "closed"]));
  });
  it("refuses hours that no clock shows, and tells the server's refusal in its own words", async () => {
    await open(SettingsPage);
    await shown("Clock and hours");
    submit(type("Monday", "9 to 5"));
    await shown("must be a span of hours");
    expect(sent).toEqual([]);
    type("Monday", "09:00-17:00");
    submit(type("Time zone", "Europe/Nowhere"));
    await shown("want an IANA name");
  });
  it("writes one figure of a sheet as its text, and shows it first", async () => {
    subject.value = "sheets/c41";
    await open(SettingsPage);
    await shown("unconfirmed");
    const field = type("Time (m:ss)", "3:05");
    await shown("This will be written");
    expect(sent).toEqual([]);
    submit(field);
    await vi.waitFor(() => expect(sent).toHaveLength(1));
    expect(sent[0]).toEqual(["PUT", "/sheets/c41", { text: "id: c41\nsteps:\n  - {id: developer, aim_s: 185}\n" }]);
  });
  it("shows a screen's link once", async () => {
    subject.value = "screens";
    await open(SettingsPage);
    await shown("by the sinks");
    submit(type("Where does the screen hang?", "dry side"));
    await shown("/#/wall?key=");
    button("Done").click();
    await vi.waitFor(() => expect(text()).not.toContain("wall?key="));
    expect(text()).toContain("dry side");
  });
  it("accepts a new unit with its name", async () => {
    subject.value = "units";
    await open(SettingsPage);
    await shown("What do you call it?");
    submit(type("What do you call it?", "Heron"));
    await vi.waitFor(() => expect(sent).toEqual([["PATCH", "/units/tern-street/heron", { standing: "accepted", name: "Heron" }]]));
  });
  it("keeps people and screens from who is no lead", async () => {
    subject.value = "people";
    await open(SettingsPage, "operator");
    await shown("Your password");
    expect(text()).not.toContain("Add a person");
  });
});

describe("a unit's care", () => {
  const Care = () => (<><ChecksPart unit="tern-street/plover" /><NotesPart unit={unit("tern-street/plover")} /><StandingPart unit={unit("tern-street/plover", { name: "Plover" })} /></>);
  it("enters a check that found a fault, with what was seen", async () => {
    await open(Care, "operator");
    await shown("overdue");
    root.querySelector<HTMLButtonElement>('[aria-label$="Hoses and couplings"]')?.click();
    await shown("cracks, kinks and drops");
    type("What was found or done", "drips at the coupling");
    button("found a fault").click();
    await vi.waitFor(() => expect(sent).toEqual([["POST", "/units/tern-street/plover/checks", { check: "hoses", ok: false, note: "drips at the coupling" }]]));
  });
  it("keeps a note", async () => {
    await open(Care, "operator");
    await shown("The drain hose drips");
    submit(type("Write down", "new washer is in"));
    await shown("Written down.");
    await shown("new washer is in");
  });
  it("retires only after it was asked twice, and only a lead", async () => {
    await open(Care);
    await shown("Retire it for good");
    button("Retire it for good").click();
    await shown("Really: retire");
    expect(sent).toEqual([]);
    button("Really: retire").click();
    await vi.waitFor(() => expect(sent).toEqual([["PATCH", "/units/tern-street/plover", { standing: "retired" }]]));
  });
});

describe("first steps", () => {
  it("lead to a page that was handed over, and say what a skip means", async () => {
    await open(SetUpSteps, "lead", "fresh&nopush");
    await shown("2. The lab");
    expect(text()).toContain("Times on the on-call plan go by UTC");
    button("Skip it for now").click();
    await shown("3. Units");
    await shown("wetside unit-key create");
    expect(text()).toContain("Only units on this machine can connect. For units elsewhere on the network, start wetside with --mqtt-listen :1883");
    button("Who is called").click();
    await shown("Call me, always");
    button("Call me, always").click();
    await shown("On now: Ana.");
    submit(type("Mail", "ana@tern-street.example"));
    await shown("Press, then look at your phone or mail.");
    button("Send me a test page").click();
    await shown("wetside can reach you");
    await shown("Next: the wall");
    button("Next: the wall").click();
    await shown("5. The wall");
    const put = sent.find(([m, p]) => m === "PUT" && p === "/duty")?.[2] as { plan: { hours: unknown } };
    expect(put.plan.hours).toEqual([{ days: ["mon", "tue", "wed", "thu", "fri", "sat", "sun"], from: "00:00", to: "24:00", people: ["Ana"] }]);
  });
  it("are for a lead", async () => {
    await open(SetUpSteps, "operator");
    await shown("A lead sets the lab up.");
  });
});
