import type { ComponentType, JSX } from "preact";
import { subject } from "../route";
import { ChangesPart } from "./ChangesPart";
import { ChemistryPart } from "../chemistry/ChemistryPart";
import { CheckDaysPart } from "./CheckDaysPart";
import { KeysPart } from "./KeysPart";
import { HousePart } from "./HousePart";
import { MinePart } from "./MinePart";
import { PeoplePart } from "./PeoplePart";
import { ReelsPart } from "./ReelsPart";
import { RulesPart } from "./RulesPart";
import { ScreensPart } from "./ScreensPart";
import { SheetsPart } from "./SheetsPart";
import { StripsPart } from "./StripsPart";
import { UnitsPart } from "./UnitsPart";
import "../shared/parts";
import "./settings.css";

const rooms: [id: string, name: string, what: string, part: ComponentType][] = [
  ["house", "The lab", "time zone, hours, circuits, closed", HousePart],
  ["units", "Units", "accept, name, retire", UnitsPart],
  ["sheets", "Process sheets", "what each process should be", SheetsPart],
  ["rules", "Rules", "holds, limits, waits", RulesPart],
  ["strips", "Control strips", "boxes, aims, limits", StripsPart],
  ["chemistry", "Chemistry", "limits of mixes, recipes", ChemistryPart],
  ["checks", "Checks", "how often they are due", CheckDaysPart],
  ["reels", "Reels and dryer", "what they hold, for what to load next", ReelsPart],
  ["people", "People", "who may do what", PeoplePart],
  ["screens", "Screens", "links for a wall", ScreensPart],
  ["keys", "Keys", "tokens, and keys of units", KeysPart],
  ["mine", "Your own", "colors, units, sound", MinePart],
  ["changes", "Record", "who changed what", ChangesPart],
];

/** What the lab sets once and then seldom touches. */
export function SettingsPage(): JSX.Element {
  const at = rooms.find(([id]) => id === subject.value.split("/")[0]) ?? rooms[0];
  const Room = at?.[3] ?? HousePart;
  return (
    <section class="list paper settings">
      <h1>Settings</h1>
      <nav class="rooms" aria-label="Settings">
        {rooms.map(([id, name, what]) => (
          <a key={id} href={`#/settings/${id}`} aria-current={at?.[0] === id ? "page" : undefined}><b>{name}</b> <span>{what}</span></a>
        ))}
        <a href="#/waste"><b>Waste log</b> <span>emptyings, weekly checks</span></a>
        <a href="#/duty"><b>On call</b> <span>who is called, and how</span></a>
        <a href="#/set-up"><b>First steps</b> <span>set up in five</span></a>
      </nav>
      <div class="room"><Room /></div>
    </section>
  );
}
