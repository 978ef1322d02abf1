package watch

import (
	"testing"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules"
)

// TestOneCauseIsOneCall: what hangs on one fuse fails together, and what
// follows from it is the same call; a unit of another circuit is not.
func TestOneCauseIsOneCall(t *testing.T) {
	f := &folder{labSettings: lab.LabSettings{
		Circuits: map[string][]string{"left wall": {"tern-street/plover", "tern-street/heron"}},
		Networks: map[string][]string{"shelf": {"tern-street/plover", "tern-street/avocet"}},
	}, open: map[string]lab.Alert{"x": {ID: "x", Rule: rules.RulePowerLost, Unit: "tern-street/heron"}}}
	change := func(unit, rule string) alerts.Change {
		return alerts.Change{Occurrence: lab.Occurrence{Unit: lab.UnitID{Lab: "tern-street", Unit: unit}, Rule: rule}}
	}
	// The mains of heron are away: its silence is the circuit's, never the
	// network's, and with no circuit told of it is nobody's.
	f.labSettings.Networks["bench"] = []string{"tern-street/heron"}
	f.labSettings.Networks["cellar"] = []string{"tern-street/knot"}
	f.open["y"] = lab.Alert{ID: "y", Rule: rules.RulePowerLost, Unit: "tern-street/knot"}
	for _, c := range []struct {
		alerts.Change
		want any
	}{
		{change("plover", rules.RulePowerLost), "circuit left wall"},
		{change("plover", rules.RuleRotationStopped), "circuit left wall"}, // found together with the loss
		{change("heron", rules.RuleUnitSilent), "circuit left wall"},       // the loss was found before
		{change("heron", rules.RuleWasteNearlyFull), nil},                  // nothing to do with it
		{change("avocet", rules.RuleUnitSilent), "network shelf"},
		{change("knot", rules.RuleUnitSilent), nil},  // without mains, on no circuit: not the network
		{change("avocet", rules.RulePowerLost), nil}, // on no circuit that the lab told of
	} {
		all := f.grouped([]alerts.Change{change("plover", rules.RulePowerLost), c.Change})
		if got := all[1].Facts["group"]; got != c.want {
			t.Errorf("%s of %s: group %v; want %v", c.Rule, c.Unit, got, c.want)
		}
	}
	if got := f.grouped([]alerts.Change{change("plover", rules.RuleUnitSilent)})[0].Facts["group"]; got != "network shelf" {
		t.Errorf("silent with the mains on: group %v; want the network", got)
	}
}
