package lab

import (
	"fmt"
	"slices"
	"strings"
)

// EntryWords is how times are written in the words of entries.
type EntryWords struct {
	Clock func(Time) string // a time of day, on the lab's clock
}

// Words say in plain words what a person entered; "" for what has none.
func (e Entry) Words(in EntryWords) string {
	k := e.Kind()
	if k.words == nil {
		return ""
	}
	return k.words(e, in)
}

func turnedWords(e Entry, in EntryWords) string {
	b := BodyOf[Turned](e)
	if b.To == nil {
		return "turned the tank by hand from " + in.Clock(b.From) + " to the end of the outage"
	}
	return fmt.Sprintf("turned the tank by hand from %s to %s", in.Clock(b.From), in.Clock(*b.To))
}

func drainedWords(Entry, EntryWords) string { return "drained the bath by hand" }

func measuredWords(e Entry, _ EntryWords) string {
	return fmt.Sprintf("measured %.1f °C in the bath", BodyOf[Measured](e).C)
}

func filmDoingWords(e Entry, _ EntryWords) string {
	b := BodyOf[FilmDoing](e)
	what := map[string]string{FilmDrained: "bath drained by hand", FilmMoved: "moved to another unit or tank",
		FilmDried: "dried", FilmDiscarded: "discarded"}[b.What]
	if b.Note != "" {
		what += " (" + b.Note + ")"
	}
	return "the film: " + what
}

func continuesWords(e Entry, _ EntryWords) string {
	if BodyOf[Continues](e).Run == "" {
		return "this run goes on with no other run's film"
	}
	return "this run goes on with the film of an earlier run"
}

func noteWords(e Entry, _ EntryWords) string { return BodyOf[Note](e).Text }

func symptomWords(e Entry, _ EntryWords) string {
	b := BodyOf[Symptom](e)
	return strings.TrimSuffix(fmt.Sprintf("saw %s on the film, %s, %s", b.Seen, OnRolls(b.Rolls, b.All), b.Note), ", ")
}

// OnRolls says on which rolls a fault was seen; that nobody said so is said.
func OnRolls(rolls []string, all bool) string {
	switch {
	case all:
		return "on all rolls"
	case len(rolls) == 1:
		return "on roll " + rolls[0]
	case len(rolls) > 1:
		return "on rolls " + strings.Join(rolls, ", ")
	}
	return "rolls not said"
}

func kindWords(e Entry, _ EntryWords) string {
	return "said that this was a run of " + BodyOf[KindChange](e).Kind
}

func probeWords(e Entry, _ EntryWords) string {
	return fmt.Sprintf("checked the bath's probe: %+.2f °C", BodyOf[ProbeCheck](e).OffsetC)
}

func probeKindWords(e Entry, _ EntryWords) string {
	if c := BodyOf[ProbeKind](e).Class; c != "" {
		return "said that the bath's probe is of class " + c
	}
	return "said that the kind of the bath's probe is not known"
}

func houseAimWords(e Entry, _ EntryWords) string {
	b := BodyOf[HouseAim](e)
	return fmt.Sprintf("set the house aim of %s %s to %s", b.Process, b.Step, Elapsed(b.EquivalentS))
}

func developerWords(e Entry, _ EntryWords) string {
	b := BodyOf[DeveloperChoice](e)
	return fmt.Sprintf("chose the developer %s for %s", b.Developer, b.Process)
}

func containerEventWords(e Entry, _ EntryWords) string {
	b := BodyOf[ContainerEvent](e)
	return b.Container + " " + b.What
}

func loadWords(e Entry, _ EntryWords) string { return "loaded " + CountOfRolls(BodyOf[Load](e).Rolls) }

// CountOfRolls says how many rolls there are.
func CountOfRolls(rolls []Roll) string {
	switch len(rolls) {
	case 0:
		return "rolls unknown: none were scanned"
	case 1:
		return "1 roll"
	}
	return fmt.Sprintf("%d rolls", len(rolls))
}

func ownerWords(e Entry, _ EntryWords) string {
	return BodyOf[FilmOwner](e).Owner + " will decide about the film"
}

func rollsChangeWords(e Entry, _ EntryWords) string {
	b := BodyOf[RollsChange](e)
	return fmt.Sprintf("rolls: %d added, %d removed", len(b.Add), len(b.Remove))
}

func stripWords(e Entry, _ EntryWords) string { return BodyOf[Strip](e).Words() }

// Words say how a control strip stood that went through the run, and by
// whose aims and limits it was judged.
func (s Strip) Words() string {
	out := map[string]string{StripIn: "read the control strip: in", StripAction: "read the control strip: beyond an action limit, " + s.Beyond(),
		StripOut: "read the control strip: beyond a control limit, " + s.Beyond()}[s.Status]
	if out == "" {
		return "read the control strip: not judged, it had no aims or no limits yet"
	}
	whose := map[string]string{LimitsPublished: "published limits", LimitsOwn: "the lab's own limits", LimitsProvisional: "provisional limits from the first strips",
		AimReference: "aims of the reference strip", "aim " + AimOwn: "the lab's own aims", AimFirst: "aims from the first strips"}
	var by []string
	for _, p := range s.Plots {
		aim := p.AimFrom
		if aim == AimOwn {
			aim = "aim " + aim // the lab's own limits are another word
		}
		for _, what := range []string{whose[p.Limits], whose[aim]} {
			if what != "" && p.Deviation != nil && !slices.Contains(by, what) {
				by = append(by, what)
			}
		}
	}
	slices.Sort(by)
	return strings.TrimSuffix(out+"; judged by "+strings.Join(by, ", "), "; judged by ")
}
