package watch

import (
	"maps"
	"slices"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/rules"
)

// follows are the rules whose alerts are what a loss of power does to a unit:
// while it lasts they are the same call.
var follows = []string{rules.RuleRotationStopped, rules.RuleUnitSilent, rules.RulePhaseOverdue, rules.RuleBatteryLow,
	rules.RuleBathTemperature, rules.RuleReadingMissing, rules.RulePowerResumed}

// grouped says of what has one cause, by what the lab told of its circuits and
// networks, that it is one call: facts.group is the same in all of it.
func (f *folder) grouped(found []alerts.Change) []alerts.Change {
	lost := f.powerLost(found)
	for i := range found {
		c := &found[i]
		if group := f.group(c.Occurrence, lost); group != "" {
			c.Facts = maps.Clone(c.Facts)
			if c.Facts == nil {
				c.Facts = map[string]any{}
			}
			c.Facts["group"] = group
		}
	}
	return found
}

// powerLost lists the units of which it is open, or was just found, that the
// mains are away.
func (f *folder) powerLost(found []alerts.Change) map[string]bool {
	lost := map[string]bool{}
	for _, a := range f.open {
		if a.Rule == rules.RulePowerLost {
			lost[a.Unit] = true
		}
	}
	for _, c := range found {
		if c.Rule == rules.RulePowerLost && !c.Withdrawn {
			lost[c.Unit.String()] = true
		}
	}
	return lost
}

func (f *folder) group(o lab.Occurrence, lost map[string]bool) string {
	unit := o.Unit.String()
	circuit := lab.Sharing(f.labSettings.Circuits, unit)
	switch {
	case o.Rule == rules.RulePowerLost && circuit != "":
		return "circuit " + circuit
	case lost[unit] && circuit != "" && slices.Contains(follows, o.Rule):
		return "circuit " + circuit
	case o.Rule == rules.RuleUnitSilent && !lost[unit]:
		if network := lab.Sharing(f.labSettings.Networks, unit); network != "" {
			return "network " + network
		}
	}
	return ""
}
