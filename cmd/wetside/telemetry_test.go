package main

import (
	"cmp"
	"slices"

	"wetside/internal/lab"
)

// facts of an alert that the contract's proof compares.
type facts struct {
	Rule, Unit, Step  string
	Raised, ClearedAt string
}

func factsOf(a lab.Alert) facts {
	f := facts{Rule: a.Rule, Unit: a.Unit, Step: a.Step, Raised: a.RaisedAt.String()}
	if a.ClearedAt != nil {
		f.ClearedAt = a.ClearedAt.String()
	}
	return f
}

// onArrival are judged by when things arrive: sent all at once, they differ.
var onArrival = []string{"unit-silent", "clock-off", "telemetry-refused"}

// lastOccurrences gives the facts of the latest occurrence of each alert, as
// the API shows it, without the rules named, in an order of its own.
func lastOccurrences(list []lab.Alert, without ...string) []facts {
	last := map[string]lab.Alert{}
	for _, a := range list {
		if old, ok := last[a.ID]; !slices.Contains(without, a.Rule) && !a.Withdrawn && (!ok || old.RaisedAt.Before(a.RaisedAt.Time)) {
			last[a.ID] = a
		}
	}
	var out []facts
	for _, a := range last {
		out = append(out, factsOf(a))
	}
	slices.SortFunc(out, func(a, b facts) int {
		return cmp.Or(cmp.Compare(a.Raised, b.Raised), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Step, b.Step))
	})
	return out
}

func alertsOf(lines []replayLine) (out []lab.Alert) {
	for _, l := range lines {
		if l.Alert != nil {
			out = append(out, *l.Alert)
		}
	}
	return out
}
