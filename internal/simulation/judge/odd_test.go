package judge

import (
	"bytes"
	"strings"
	"testing"

	"wetside/internal/labtest"
	"wetside/internal/simulation/sim"
	"wetside/rules"
)

// One shape of each row: every fault told, nothing else, and the sound days
// silent. make judge tries more of each.
func TestTheOddWorld(t *testing.T) {
	only, told, silent := "", 30, 12
	if testing.Short() {
		only, told, silent = "probe", 2, 3
	}
	odd, err := JudgeOdd(t.Context(), Seeds{Name: "test", First: 61, Count: 1}, only)
	if err != nil {
		t.Fatal(err)
	}
	if odd.Failed() {
		var b bytes.Buffer
		odd.Print(&b)
		odd.Misses(&b, 3)
		t.Error(b.String())
	}
	if len(odd.told) < told || len(odd.silent) < silent {
		t.Errorf("%d faults and %d sound days are tried", len(odd.told), len(odd.silent))
	}
}

// A day of six units with odd but sound probes: under one page in twenty
// runs. The bound is the issue's; make judge has weeks.
func TestABusyWeekDoesNotCryWolf(t *testing.T) {
	each := labtest.Fewer(4, 1)
	w, err := week(t.Context(), 77, 1, each)
	if err != nil {
		t.Fatal(err)
	}
	if w.runs != 6*each || w.Failed() {
		var b bytes.Buffer
		w.Print(&b)
		w.Misses(&b, 10)
		t.Error(b.String())
	}
}

// A fault that is not told is missed, and one that nobody expects is wrongly
// told: the table can fail.
func TestTheOddTableCanFail(t *testing.T) {
	silent := newTrial(5, "c41", 1)
	silent.want(wanted{rule: rules.RuleFilmStranded})
	if j := silent.judge(t.Context()); j.err != nil || len(j.missed) != 1 || len(j.wrong) != 0 {
		t.Errorf("a sound run that should be stranded: %+v", j)
	}
	loud := newTrial(5, "c41", 1)
	loud.fault(sim.Fault{Kind: sim.OpenProbe, Step: "developer", Strength: 850})
	loud.also = neverSays("which no bath can be")
	j := loud.judge(t.Context())
	if j.err != nil || len(j.missed) != 0 || len(j.wrong) < 2 || !strings.Contains(j.wrong[0], "reading-doubtful") {
		t.Errorf("an open probe that nobody expects: %+v", j)
	}
	r := oddRow{row: row{name: "x"}, cases: []trialOutcome{j}}
	if o := (&Odd{silent: []oddRow{r}}); !o.Failed() {
		t.Error("the table does not fail")
	}
	w := &Week{runs: 20, pages: []string{"one"}}
	if !w.Failed() || (&Week{runs: 20}).Failed() || !(&Week{}).Failed() {
		t.Errorf("%.2f pages in 20 runs", w.per20())
	}
}
