package rules_test

import (
	"encoding/json"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wetside/internal/lab"
)

// The volumes here are sums of what the script itself pumps (half a liter a
// fill, six steps of C-41, two of them washes): arithmetic, no source needed.

// needs gives what a unit's next run is shown to want of a container, nil where
// that is said to be not known.
func needs(b *bench, u lab.UnitID, name string) *lab.Container {
	v, _ := b.E.View(u, b.Clock)
	for i := range v.Containers {
		if v.Containers[i].Name == name {
			return &v.Containers[i]
		}
	}
	return nil
}

// wantNext fails unless the next run is shown to move so much, by whose run.
func wantNext(tb interface {
	Helper()
	Errorf(string, ...any)
}, b *bench, u lab.UnitID, by string, waste, wash float64) {
	tb.Helper()
	for name, want := range map[string]float64{"waste": waste, "wash": wash} {
		c := needs(b, u, name)
		switch {
		case by == "" && (c.NextRunL != nil || c.RunsLeft != nil || c.NextRunBy != ""):
			tb.Errorf("%s: the next run moves %v, %v runs left; want not known", name, show(c.NextRunL), show(c.RunsLeft))
		case by == "":
		case c.NextRunL == nil || *c.NextRunL != want || c.NextRunBy != by:
			tb.Errorf("%s: the next run moves %v by %q; want %g by %q", name, show(c.NextRunL), c.NextRunBy, want, by)
		}
	}
}

func show(v any) string {
	b, _ := json.Marshal(v)
	return string(b)
}

// withLevels writes an idle minute with levels heard before a run.
func withLevels(s *script, at float64) {
	s.Phase(at, lab.PhaseIdle, "", 0)
	s.Level(at+0.2, "waste", 4)
	s.Level(at+0.4, "wash", 15)
}

// A run that was heard whole shows what the next moves: 6 drains and 2 draws of
// washes of half a liter. 14.9 l of room are four such runs, 15 l of water 15.
func TestWholeRunTeaches(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	withLevels(s, end+20)
	b := newBench(t).Play(s.Messages())
	wantNext(t, b, s.Unit, lab.VolumesByUnit, 3, 1)
	if c := needs(b, s.Unit, "waste"); c.RunsLeft == nil || *c.RunsLeft != 4 {
		t.Errorf("runs left in waste %v; want 4 of 14.9 l at 3 l", show(c.RunsLeft))
	}
	b.Restart()
	wantNext(t, b, s.Unit, lab.VolumesByUnit, 3, 1)
}

// Whatever is not received of a run, be it its beginning up to any message, any
// one message, or its end: it never teaches, and what is not known is not said.
// The next that is received whole teaches, and late messages do as well.
func TestCutRunNeverTeaches(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		s := newScript("c41")
		end := s.C41(0)
		s.Without(func(e *event) bool { return e.M.Temp != nil || e.M.Motion != nil }) // they move nothing
		s.Level(20, "waste", 4)
		s.Level(21, "wash", 15)
		msgs := s.Messages()
		first := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Step != nil && m.Step.Run != "" })
		last := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.Step != nil && m.Step.Phase == lab.PhaseDone })
		var lost []lab.Message
		at := rapid.IntRange(first, last).Draw(rt, "at")
		switch rapid.IntRange(0, 2).Draw(rt, "what") {
		case 0:
			lost, msgs = msgs[:at+1], msgs[at+1:]
		case 1:
			to := min(last+1, at+rapid.SampledFrom([]int{1, 1, 5, 300}).Draw(rt, "so many"))
			lost, msgs = slices.Clone(msgs[at:to]), slices.Delete(slices.Clone(msgs), at, to)
		case 2:
			lost, msgs = slices.Clone(msgs[at:last+1]), slices.Delete(slices.Clone(msgs), at, last+1)
		}
		b := newBench(t)
		b.Ticks = 30_000_000_000
		b.Play(msgs)
		b.Note(b.E.Flush(t.Context(), b))
		wantNext(rt, b, s.Unit, "", 0, 0)

		if rapid.Bool().Draw(rt, "late") && len(msgs) > 0 && msgs[0].Seq == 1 {
			for i := range lost {
				lost[i].Received = moment(end + 60)
			}
			b.Play(lost)
			b.Note(b.E.Flush(t.Context(), b))
			wantNext(rt, b, s.Unit, lab.VolumesByUnit, 3, 1)
			return
		}
		s.Run, s.Boot, s.Events = "r2", "b2", nil
		s.Phase(end+100, lab.PhaseIdle, "", 0)
		s.C41(end + 110)
		s.Without(func(e *event) bool { return e.M.Temp != nil || e.M.Motion != nil })
		b.Play(s.Messages())
		b.Note(b.E.Flush(t.Context(), b))
		wantNext(rt, b, s.Unit, lab.VolumesByUnit, 3, 1)
	})
}

// What was once known stays when a run that was heard in part comes after it,
// also while that run goes on.
func TestPartRunTakesNothingAway(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	s.Run = "r2"
	second := s.C41(end + 60)
	s.Cut(end+65, end+300)
	msgs := s.Messages()
	b := newBench(t)
	half := slices.IndexFunc(msgs, func(m lab.Message) bool { return m.At.After(moment(end + 700)) })
	b.Play(msgs[:half])
	wantNext(t, b, s.Unit, lab.VolumesByUnit, 3, 1)
	b.Play(msgs[half:]).Until(second + 60)
	wantNext(t, b, s.Unit, lab.VolumesByUnit, 3, 1)
}

// Runs that show nothing of the next: of another kind, ended early, taken on
// from another, with a step left out, started again in the middle.
func TestRunsThatDoNotTeach(t *testing.T) {
	for name, write := range map[string]func(s *script){
		"a flush": func(s *script) { s.Kind = lab.KindOfRunFlush; s.C41(0) },
		"aborted": func(s *script) {
			dev(s, 295, always(37.8))
			s.Phase(320, lab.PhaseAborted, "bleach", 2)
		},
		"a bath left out": func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.M.Step != nil && e.M.Step.Step == "bleach" })
		},
		"a wash left out": func(s *script) {
			s.C41(0)
			s.Without(func(e *event) bool { return e.M.Step != nil && e.M.Step.Step == "wash-1" })
		},
		"started again": func(s *script) { s.C41(0); s.Restarts = []float64{400} },
		"no volumes":    func(s *script) { s.FillML = 0; s.C41(0) },
		"goes on with a film": func(s *script) {
			s.C41(0)
			for _, e := range s.Events {
				if e.M.Step != nil && e.M.Step.Run != "" {
					e.M.Step.Continues = "r0"
				}
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScript("c41")
			write(s)
			withLevels(s, 3000)
			wantNext(t, newBench(t).Play(s.Messages()).Until(3000), s.Unit, "", 0, 0)
		})
	}
}

// A unit that has run nothing goes by another of its model, never by one of
// another model or of none; and by its own as soon as it has run.
func TestVolumesByModel(t *testing.T) {
	write := func(name, model string) *script {
		s := newScript("c41")
		s.Unit.Unit = name
		s.Add(0, lab.ChannelStatus, lab.Message{Status: &lab.Status{Online: true, Model: model, Processes: []string{"c41"}}})
		withLevels(s, 1)
		return s
	}
	plover := write("plover", "drum-30")
	end := plover.C41(2)
	heron, ibis, teal := write("heron", "drum-30"), write("ibis", "drum-60"), write("teal", "")
	heron.Stays(end+30, end+90, lab.PhaseIdle, "", 0)
	heron.FillML = 250
	own := heron.C41(end + 100)
	var all []lab.Message
	for _, s := range []*script{plover, heron, ibis, teal} {
		all = append(all, s.Messages()...)
	}
	sortByReceived(all)
	cut := slices.IndexFunc(all, func(m lab.Message) bool { return m.Received.After(moment(end + 95)) })
	b := newBench(t).Play(all[:cut])
	check := func() {
		t.Helper()
		wantNext(t, b, plover.Unit, lab.VolumesByUnit, 3, 1)
		wantNext(t, b, heron.Unit, lab.VolumesByModel, 3, 1)
		wantNext(t, b, ibis.Unit, "", 0, 0)
		wantNext(t, b, teal.Unit, "", 0, 0)
	}
	check()
	b.Restart()
	check()
	v, _ := b.E.View(heron.Unit, b.Clock)
	if len(v.RunVolumes) != 1 || v.RunVolumes[0].Unit != plover.Unit.String() || v.RunVolumes[0].By != lab.VolumesByModel || v.RunVolumes[0].DrainsL["waste"] != 3 {
		t.Errorf("volumes of heron: %s", show(v.RunVolumes))
	}
	b.Play(all[cut:]).Until(own + 60)
	wantNext(t, b, heron.Unit, lab.VolumesByUnit, 1.5, 0.5)
	wantNext(t, b, plover.Unit, lab.VolumesByUnit, 3, 1)
}

// What is loaded decides which process the next run is of, not what ran last.
func TestVolumesOfWhatIsLoaded(t *testing.T) {
	s := newScript("c41")
	end := s.C41(0)
	withLevels(s, end+60)
	b := played(t, s, enters(s.Unit, end+30, lab.EntryLoad, "", lab.Load{Process: "e6-3"}))
	wantNext(t, b, s.Unit, "", 0, 0)
	b = played(t, s, enters(s.Unit, end+30, lab.EntryLoad, "", lab.Load{Process: "c41"}))
	wantNext(t, b, s.Unit, lab.VolumesByUnit, 3, 1)
}
