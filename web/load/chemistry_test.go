package load

import (
	"strings"
	"testing"

	"wetside/internal/chemistry"
	"wetside/internal/lab"
	"wetside/internal/process"
)

// Mixes stop a load or speak of it only once a bottle was scanned or a limit
// set; until then they are not heard of.
func TestMixesInTheVerdict(t *testing.T) {
	at := func(is string, why ...string) []Bottle {
		return []Bottle{{Position: "c41/developer", Label: "MIX-A", State: chemistry.MixState{Is: is, Why: why, Limited: true}}}
	}
	unscanned := at(chemistry.MixFine)
	unscanned[0].Use.Unknown = 3
	for name, c := range map[string]struct {
		chemistry Chemistry
		want      string
		says      string
	}{
		"no mixes":       {Chemistry{}, ":", ""},
		"fine":           {Chemistry{At: at(chemistry.MixFine)}, ":chemistry", "not known of: bleach, fixer, final rinse. Scan the bottle, then Plover."},
		"near its limit": {Chemistry{At: at(chemistry.MixSoon, "It is 9 days old; limit 10 days.")}, ":chemistry chemistry", "Developer: mix MIX-A is near its limit. It is 9 days old; limit 10 days."},
		"beyond":         {Chemistry{At: at(chemistry.MixOver, "It is 11 days old; limit 10 days.")}, "chemistry:chemistry", "is beyond the limit. It is 11 days old"},
		"withdrawn":      {Chemistry{At: at(chemistry.MixWithdrawn, "It is withdrawn: cloudy")}, "chemistry:chemistry", "is not to be used. It is withdrawn: cloudy. Take the bottle off"},
		"used up":        {Chemistry{At: at(chemistry.MixDone)}, "chemistry:chemistry", "marked used up"},
		"unscanned runs": {Chemistry{At: unscanned}, ":chemistry chemistry", "3 of the runs through mix MIX-A had no roll scanned"},
		"another's":      {Chemistry{At: []Bottle{{Position: "e6-7/fixer", Label: "MIX-B", State: chemistry.MixState{Is: chemistry.MixWithdrawn}}}}, ":", ""},
		// the unit draws 500 mL of developer, and two rolls are loaded
		"covers":           {Chemistry{Settings: lab.ChemistrySettings{Covers: []lab.TankCover{{Unit: "tern-street/plover", Reels: 2, ML: 500}}}}, ":", ""},
		"does not cover":   {Chemistry{Settings: lab.ChemistrySettings{Covers: []lab.TankCover{{Unit: "tern-street/plover", Reels: 2, ML: 501}}}}, "chemistry:", "a run draws 500 mL; 2 reels need 501 mL"},
		"enough for film":  {Chemistry{Settings: lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "c41/developer", MLPerRoll: ptr(250.0)}}}}, ":", ""},
		"too much film":    {Chemistry{Settings: lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "c41/developer", MLPerRoll: ptr(251.0)}}}}, "chemistry:", "2 roll-equivalents need 502 mL"},
		"of a bath unseen": {Chemistry{Settings: lab.ChemistrySettings{Limits: []lab.MixLimit{{Solution: "c41/fixer", MLPerRoll: ptr(900.0)}}}}, ":", ""},
	} {
		t.Run(name, func(t *testing.T) {
			in := Check{Unit: readyUnit(), Load: lab.Load{Process: "c41", Rolls: rolls("101", "102")}, Book: process.Builtin(), Chemistry: c.chemistry}
			in.Sheet, _ = in.Book.Sheet("c41")
			_, reasons, _ := Judge(in)
			var stops, tells, texts []string
			for _, r := range reasons {
				if texts = append(texts, r.Text); r.Stops {
					stops = append(stops, r.Code)
				} else {
					tells = append(tells, r.Code)
				}
			}
			if got := strings.Join(stops, " ") + ":" + strings.Join(tells, " "); got != c.want || !strings.Contains(strings.Join(texts, "\n"), c.says) {
				t.Errorf("%q %q; want %q, saying %q", got, texts, c.want, c.says)
			}
		})
	}
}
