package rules

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"wetside/internal/lab"
)

// nowhere takes what is found and keeps nothing.
type nowhere struct{}

func (nowhere) PutOccurrence(lab.Occurrence) {}
func (nowhere) PutRun(lab.Run)               {}

// plover is a unit of which nothing was received.
func plover() *Unit {
	return NewUnit(Config{}.WithDefaults(), lab.UnitID{Lab: "tern-street", Unit: "plover"}, nowhere{})
}

func moment(s float64) time.Time {
	return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).Add(lab.Seconds(s))
}

// Beyond the cap the last run of another process is forgotten, never that of
// the one in hand.
func TestPastKeepsTheProcessInHand(t *testing.T) {
	s := &state{Past: map[string]pastRun{}}
	for i := range pastKept + 2 {
		s.Past[fmt.Sprintf("p%02d", i)] = pastRun{}
	}
	s.keepPast("p00")
	_, inHand := s.Past["p00"]
	_, first := s.Past["p01"]
	_, last := s.Past[fmt.Sprintf("p%02d", pastKept+1)]
	if len(s.Past) != pastKept || !inHand || first || !last {
		t.Errorf("%d are kept, in hand %v, the first other %v, the last %v", len(s.Past), inHand, first, last)
	}
}

// What is kept of a run's holes is bounded, and nothing of their length and of
// the earliest place is lost beyond that.
func TestHolesAreKeptToTheCap(t *testing.T) {
	r := &run{}
	for i := range holesKept + 3 {
		r.keepHole(hole{After: 10 - i%2, S: 12})
	}
	sum := 0.0
	for _, h := range r.Holes {
		sum += h.S
	}
	if last := r.Holes[len(r.Holes)-1]; len(r.Holes) != holesKept || sum != 12*(holesKept+3) || last.After != 9 {
		t.Errorf("%d holes of %g s, the last %+v; want %d of %d s", len(r.Holes), sum, last, holesKept, 12*(holesKept+3))
	}
}

func TestStripsAreCapped(t *testing.T) {
	var s state
	for i := range 100 {
		s.stripsOf("c41", string(rune('a'+i))).Outs = i
	}
	if len(s.Strips) != stripHistoriesKept || s.Strips[0].Outs != 100-stripHistoriesKept {
		t.Errorf("%d kept, the oldest %d; want %d, the newest", len(s.Strips), s.Strips[0].Outs, stripHistoriesKept)
	}
}

// Older than what is kept to fold from: it is counted in at the next message,
// behind those that were read after it.
func TestStripEnteredLateChangesNothing(t *testing.T) {
	f := plover()
	f.s.Clock.T = moment(1000)
	for _, r := range []struct {
		at       float64
		standing string
		outs     int
	}{{100, lab.StripOut, 1}, {300, lab.StripIn, 0}, {200, lab.StripOut, 0}, {400, lab.StripOut, 1}} {
		body, err := json.Marshal(lab.Strip{Process: "c41", Status: r.standing})
		if err != nil {
			t.Fatal(err)
		}
		f.applyStrip(&Entry{Entry: lab.Entry{What: lab.EntryStrip, Body: body}, T: moment(r.at)})
		if got := f.s.Strips[0].Outs; got != r.outs {
			t.Errorf("after the strip of %g s, %s: %d out in a row, want %d", r.at, r.standing, got, r.outs)
		}
	}
}

// The bounds of what a probe can be believed to read are within it.
func TestBelievedAtItsBounds(t *testing.T) {
	f := plover()
	fig := f.fig()
	for v, want := range map[float64]bool{fig.BelieveLowC: true, fig.BelieveHighC: true, fig.BelieveLowC - 0.01: false, fig.BelieveHighC + 0.01: false} {
		if got := f.believable(v); got != want {
			t.Errorf("%g °C: believed %v, want %v", v, got, want)
		}
	}
}

// A roll that names neither process nor push wants what the load does; one
// that names its process has its own push, 0 too.
func TestRollsInheritTheLoad(t *testing.T) {
	r := &run{Process: "c41", Push: 1}
	for _, c := range []struct {
		name string
		load lab.Load
		want []mismatch
	}{
		{"both of the load", lab.Load{Process: "c41", Push: 1, Rolls: []lab.Roll{{TwinCheck: "1"}}}, nil},
		{"its own push, the load's process", lab.Load{Process: "c41", Push: 2, Rolls: []lab.Roll{{TwinCheck: "1", Push: 1}}}, nil},
		{"the load's push is not the run's", lab.Load{Process: "c41", Push: 2, Rolls: []lab.Roll{{TwinCheck: "1"}}}, []mismatch{{"1", "c41", 2}}},
		{"its own process, so its own push", lab.Load{Process: "c41", Push: 1, Rolls: []lab.Roll{{TwinCheck: "1", Process: "c41"}}}, []mismatch{{"1", "c41", 0}}},
		{"no rolls: the load itself", lab.Load{Process: "c41", Push: 0}, []mismatch{{"", "c41", 0}}},
	} {
		if got := mismatchedRolls(&c.load, r); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// A shortage is urgent from five minutes before on, to the second.
func TestShortageIsUrgentToTheSecond(t *testing.T) {
	f := plover()
	f.s.Run, f.s.Clock.T = &run{ID: "1", Process: "c41", Outcome: lab.OutcomeRunning}, moment(0)
	for inS, want := range map[float64]lab.Priority{300: lab.Urgent, 300.001: lab.High} {
		a := alertKey{rule: RuleChemistryShort, subject: "c41/fixer", run: true}
		for range 2 {
			f.s.Clock.T = f.s.Clock.T.Add(10 * time.Second)
			f.shortage(a, "x", &flow{Container: "c41/fixer", L: 0.5, InS: inS, Step: "fixer"}, false, true, func() alertContent { return alertContent{} })
		}
		if o := f.open(a); o == nil || o.Priority != want {
			t.Errorf("%g s before: %+v, want %s", inS, o, want)
		}
		f.clear(a, f.s.Clock.T)
	}
}

// A step of the unit's clock moves the smallest lag the other way: a clock set
// back makes every later message arrive later by its own count. Both ways one
// after the other, without up_s, the durations stay right.
func TestClockStepsEitherWay(t *testing.T) {
	for _, first := range []float64{-3600, 3600} {
		c := timelineClock{}
		shift := 0.0
		for i := range 120 {
			at := float64(i) * 2
			switch i {
			case 40:
				shift = first
			case 80:
				shift = 0
			}
			jitter := 0.05 * float64(i%3) // arrivals are never quite even
			c.advance(&lab.Message{Boot: "b", Seq: int64(i + 1), At: moment(at + shift), Received: moment(at + 0.2 + jitter)})
			if off := c.T.Sub(moment(at)).Seconds(); math.Abs(off) > 0.3 {
				t.Fatalf("first by %g s: message %d stands at %g s, want %g", first, i, c.T.Sub(moment(0)).Seconds(), at)
			}
			if want := 0.2 - shift; i != 40 && i != 80 && math.Abs(c.LagS-want) > 0.3 {
				t.Fatalf("first by %g s: after message %d the smallest lag is %g s, want about %g", first, i, c.LagS, want)
			}
		}
	}
}
