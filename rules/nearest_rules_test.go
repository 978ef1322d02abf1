package rules_test

import (
	"strings"
	"testing"

	"wetside/rules"
)

// A process or a step that no sheet has is told with the one that was likely
// meant.
func TestTheNearestNameIsTold(t *testing.T) {
	for _, c := range []struct {
		process, step, rule, want string
	}{
		{"C-41", "developer", rules.RuleSheetMissing, `Did you mean "c41"?`},
		{"ra4", "developer", rules.RuleSheetMissing, `No sheet for process "ra4": times and temperatures are not judged`},
		{"c41", "Developper", rules.RuleStepUnknown, `did you mean "developer"?`},
	} {
		s := newScript(c.process)
		dev(s, 200, always(37.8))
		s.Renamed("developer", c.step)
		told := false
		for _, o := range newBench(t).Play(s.Messages()).Found {
			if o.Rule == c.rule {
				told = strings.HasSuffix(o.Message, c.want)
				if !told {
					t.Errorf("%s/%s: %q; want %q", c.process, c.step, o.Message, c.want)
				}
			}
		}
		if !told {
			t.Errorf("%s/%s: no %s with the nearest name", c.process, c.step, c.rule)
		}
	}
}
