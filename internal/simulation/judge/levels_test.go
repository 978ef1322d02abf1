package judge

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"wetside/rules"
	"wetside/rules/timeline"
)

// One unit-week in which nothing is wrong and one with a stuck probe: nothing
// false, runs left right, the fault told. make judge has 300 of each.
func TestLevels(t *testing.T) {
	j, err := JudgeLevels(t.Context(), Seeds{Name: "test", First: 61, Count: 1}, "")
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	j.Print(&b)
	j.Misses(&b, 5)
	s := j.sums()
	began, _, inTime, named := levelFaults[0].inTime(j.faults[0])
	if s.weeks != 1 || s.samples < 200 || s.right < s.samples*99/100 || s.emptyings < 5 || s.one < s.emptyings || s.false > 0 || began != 1 || inTime != 1 || named != 1 {
		t.Error(b.String())
	}
}

// The table can fail: a false alert, runs left that are wrong, two alerts of one
// emptying, a fault that is not told or told late.
func TestTheTableOfLevelsCanFail(t *testing.T) {
	at := startOfDay
	good := func() *Levels {
		w := &levelWeek{}
		j := &Levels{sound: []levelOutcome{{week: w, samples: 100, right: 99, emptyings: 100, one: 99}}}
		for range levelFaults {
			j.faults = append(j.faults, []levelOutcome{{week: w, began: at, found: at.Add(time.Hour), runs: 1, named: true}})
		}
		return j
	}
	if good().Failed() {
		t.Error("what meets the targets fails")
	}
	for name, spoil := range map[string]func(j *Levels){
		"nothing judged": func(j *Levels) { j.sound = nil },
		"a false alert": func(j *Levels) {
			j.sound[0].pages = []timeline.OccurrenceChange{{}}
		},
		"runs left":    func(j *Levels) { j.sound[0].right = 98 },
		"two alerts":   func(j *Levels) { j.sound[0].one = 98 },
		"not told":     func(j *Levels) { j.faults[2][0].found = time.Time{} },
		"told late":    func(j *Levels) { j.faults[2][0].runs = 2 },
		"never began":  func(j *Levels) { j.faults[4][0].began = time.Time{} },
		"no such week": func(j *Levels) { j.faults[4] = nil },
	} {
		j := good()
		if spoil(j); !j.Failed() {
			t.Errorf("%s: it does not fail", name)
		}
	}
	var b bytes.Buffer
	good().Print(&b)
	if !strings.Contains(b.String(), "told in 1 of 1") || levelRules[0] != rules.RuleLevelDisagrees {
		t.Error(b.String())
	}
}
