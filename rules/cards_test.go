package rules

import (
	"strings"
	"testing"
	"testing/fstest"

	"wetside/internal/lab"
)

// TestCardsRefused: a rule without a response does not load, and every
// mistake is named with its file.
func TestCardsRefused(t *testing.T) {
	for name, c := range map[string]struct{ file, yaml, want string }{
		"no such rule":      {"cards/bath.yaml", "cause: x", `got "bath"`},
		"an unknown field":  {"cards/step-short.yaml", "answer: x", "answer"},
		"no response":       {"cards/step-short.yaml", `response: ""`, "cause, consequence and response must be given"},
		"no time":           {"cards/step-short.yaml", "respond: {high: {when: always, within_s: 0}}", "within_s above 0"},
		"no such priority":  {"cards/step-short.yaml", "respond: {soon: {when: always, within_s: 9}}", "soon"},
		"changes what none": {"cards/step-short.yaml", "as: {urgent: high}", "a priority that the rule has"},
		"a bad figure":      {"figures.yaml", "silent_s: 0", "above 0"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := LoadData(fstest.MapFS{c.file: {Data: []byte(c.yaml)}})
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), c.file) {
				t.Errorf("got %v; want one that names %s and says %q", err, c.file, c.want)
			}
		})
	}
}

// TestCardChanges: a lab changes what it names and nothing else.
func TestCardChanges(t *testing.T) {
	d, err := LoadData(fstest.MapFS{"cards/step-short.yaml": {Data: []byte("response: Ask Ada.\nas: {high: urgent}")}})
	if err != nil {
		t.Fatal(err)
	}
	got, was := d.Rules[RuleStepShort], Builtin().Rules[RuleStepShort]
	if got.Response != "Ask Ada." || got.Cause != was.Cause || got.priority(lab.High) != lab.Urgent || was.priority(lab.High) != lab.High {
		t.Errorf("got %+v, was %+v", got, was)
	}
}
