package timeline_test

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wetside/internal/lab"
	"wetside/rules"
	"wetside/rules/timeline"
)

// drawDay writes an hour of a few units with things going wrong.
func drawDay(t *rapid.T) [][]lab.Message {
	var units [][]lab.Message
	for i := range rapid.IntRange(1, 3).Draw(t, "units") {
		s := newScript("c41")
		s.Unit.Unit = fmt.Sprintf("unit-%d", i)
		s.UpS = rapid.Bool().Draw(t, "up_s")
		start := float64(rapid.IntRange(0, 120).Draw(t, "start"))
		end := s.C41(start)
		if rapid.Bool().Draw(t, "second run") {
			s.Run = "r2"
			end = s.C41(end + 60)
		}
		s.Level(start+1, "waste", rapid.Float64Range(8, 18).Draw(t, "waste"))
		for at := start + 31; at < end; at += 30 {
			s.Level(at, "waste", rapid.Float64Range(12, 16.5).Draw(t, "level"))
		}
		for range rapid.IntRange(0, 8).Draw(t, "faults") {
			drawFault(t, s, rapid.Float64Range(start, end).Draw(t, "when"))
		}
		units = append(units, s.Messages())
	}
	return units
}

// shaken is what a broker and a network may make of an order: late messages,
// some very late, copies, units mixed.
func shaken(t *rapid.T, units [][]lab.Message) []lab.Message {
	var out []lab.Message
	for _, list := range units {
		firsts := map[string]bool{}
		for _, m := range list {
			late := 0.0
			switch k := rapid.IntRange(0, 99).Draw(t, "late"); {
			case !firsts[m.Boot]: // boots are ordered by their first arrival
				firsts[m.Boot] = true
			case k < 5:
				late = rapid.Float64Range(0, 4).Draw(t, "a little")
			case k < 7:
				late = rapid.Float64Range(0, 1500).Draw(t, "much")
			}
			m.Received = m.Received.Add(lab.Seconds(late))
			out = append(out, m)
			if rapid.IntRange(0, 49).Draw(t, "copy") == 0 {
				m.Received = m.Received.Add(lab.Seconds(rapid.Float64Range(0, 300).Draw(t, "later")))
				out = append(out, m)
			}
		}
	}
	sortByReceived(out)
	return out
}

// However telemetry arrives, split into batches or not, with restarts in
// between: the same occurrences and the same runs.
func TestAnyOrderSameFindings(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		units := drawDay(rt)
		straight := slices.Concat(units...)
		sortByReceived(straight)
		ref := newBench(t)
		ref.Ticks = 30 * time.Second
		entries := drawEntries(rt, units)
		ref.Due = inOrder(entries)
		ref.Play(straight).EnterUntil(never)
		ref.Note(ref.E.Flush(t.Context(), ref))

		b := newBench(t)
		b.Ticks = 30 * time.Second
		for i := range entries { // entered at another time, of the same
			entries[i].Entered = entries[i].Entered.Add(lab.Seconds(rapid.Float64Range(0, 900).Draw(rt, "entered")))
		}
		b.Due = inOrder(entries)
		playInBatches(rt, b, shaken(rt, units))
		b.EnterUntil(never)
		b.Note(b.E.Flush(t.Context(), b))
		if got, want := b.Outcome(), ref.Outcome(); got != want {
			rt.Fatalf("%s", differ(got, want))
		}
	})
}

// A buffered stretch that arrives at once gives the same alerts as it would
// have live, and those that had ended by then are found afterwards.
func TestBacklogSameAlerts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		s := newScript("c41")
		end := s.C41(0)
		for range rapid.IntRange(1, 8).Draw(rt, "faults") {
			drawFault(rt, s, rapid.Float64Range(100, end-100).Draw(rt, "when"))
		}
		live := newBench(t).Play(s.Messages())
		live.Note(live.E.Flush(t.Context(), live))
		from := rapid.Float64Range(-1, end-200).Draw(rt, "from")
		to := rapid.Float64Range(from+30, end).Draw(rt, "to")
		s.Buffered(from, to)
		b := newBench(t).Play(s.Messages())
		b.Note(b.E.Flush(t.Context(), b))
		if got, want := b.Outcome(), live.Outcome(); got != want {
			rt.Fatalf("%s", differ(got, want))
		}
		for _, o := range b.Found {
			inside := !o.ClearedAt.IsZero() && o.RaisedAt.After(moment(from)) && o.ClearedAt.Before(moment(to-35))
			if o.Rule != rules.RuleUnitSilent && o.Rule != rules.RuleClockOff && inside && !o.FoundAfterwards {
				rt.Errorf("%s (of %s) had ended before %g and is not found afterwards", line(o), o.Rule, to)
			}
			if o.Noticed.Before(o.RaisedAt.Add(-time.Second)) {
				rt.Errorf("%s was noticed before it began", line(o))
			}
		}
	})
}

// Whatever arrives, a state can be stored, is taken back as it was, and is
// not large.
func TestSnapshotSize(t *testing.T) {
	s := newScript("c41")
	at := 0.0
	for i := range 15 {
		s.Run = fmt.Sprintf("r%d", i)
		at = s.C41(at) + 100
	}
	b := newBench(t)
	b.Ticks = time.Minute
	b.Play(s.Messages())
	_, blob, _ := b.E.Snapshot(s.Unit)
	if len(blob) > 52_000 {
		t.Errorf("snapshot of %d bytes", len(blob))
	}
	b.Restart()
	if _, again, _ := b.E.Snapshot(s.Unit); string(again) != string(blob) {
		t.Error("a state taken back differs from the one that was stored")
	}
}

// BenchmarkFold is the whole fold; BenchmarkWalk only reads the messages.
func BenchmarkFold(b *testing.B) { benchmark(b, true) }

// BenchmarkWalk is what BenchmarkFold stands beside.
func BenchmarkWalk(b *testing.B) { benchmark(b, false) }

func benchmark(b *testing.B, fold bool) {
	var all []lab.Message
	for i := range 10 {
		s := newScript("c41")
		s.Unit.Unit = fmt.Sprintf("unit-%d", i)
		end := s.C41(float64(i))
		for at := 5.0; at < end; at += 20 {
			s.Level(at, "waste", 5+at/1000)
			s.Level(at+1, "wash", 15-at/1000)
		}
		all = append(all, s.Messages()...)
	}
	slices.SortStableFunc(all, func(x, y lab.Message) int { return cmp.Compare(x.Received.UnixNano(), y.Received.UnixNano()) })
	var arrivals []lab.Arrival
	for i := range all {
		all[i].Arrival = int64(i + 1)
		arrivals = append(arrivals, lab.Arrival{Message: &all[i]})
	}
	n := 0
	for b.Loop() {
		if fold {
			e := timeline.NewEngine(rules.Config{})
			for batch := range slices.Chunk(arrivals, 500) {
				if _, err := e.Feed(b.Context(), batch, nil); err != nil {
					b.Fatal(err)
				}
			}
		} else {
			for _, a := range arrivals {
				if a.Message.Temp != nil {
					n++
				}
			}
		}
	}
	b.ReportMetric(float64(len(arrivals))*float64(b.N)/b.Elapsed().Seconds(), "messages/s")
}

// drawFault lets something go wrong from a moment on.
func drawFault(t *rapid.T, s *script, from float64) {
	to := from + rapid.Float64Range(1, 90).Draw(t, "for")
	within := func(e *event) bool { return e.At >= from && e.At < to }
	switch rapid.IntRange(0, 6).Draw(t, "fault") {
	case 0, 1:
		off := rapid.Float64Range(-4, 4).Draw(t, "off")
		for _, e := range s.Events {
			if within(e) && e.M.Temp != nil {
				v := *e.M.Temp.BathC + off
				e.M.Temp = &lab.Temp{BathC: &v}
			}
		}
	case 2:
		s.Without(func(e *event) bool { return within(e) && e.M.Temp != nil })
	case 3:
		s.Cut(from, from+rapid.Float64Range(0, 40).Draw(t, "hole"))
	case 4:
		for _, e := range s.Events {
			if within(e) && e.M.Motion != nil {
				e.M.Motion = &lab.Motion{RPM: new(float64)}
			}
		}
	case 5:
		s.Power(from, "battery", "lost", 50, 0)
		s.Power(to, "mains", "restored", 0, 0)
	case 6: // the controller restarts
		s.Restarts = append(s.Restarts, from)
	}
}

// playInBatches feeds in batches of any size, with time passing in between
// and the state stored and taken back now and then.
func playInBatches(t *rapid.T, b *bench, msgs []lab.Message) {
	for len(msgs) > 0 {
		n := min(len(msgs), rapid.SampledFrom([]int{1, 1, 7, 100, 1000}).Draw(t, "batch"))
		var batch []lab.Arrival
		for _, m := range msgs[:n] {
			batch = append(batch, b.Entered(m.Received)...)
			if a, ok := b.Stored(m); ok {
				batch = append(batch, a)
			}
			b.Clock = m.Received
		}
		msgs = msgs[n:]
		b.Note(b.E.Feed(b.TB.Context(), batch, b))
		if rapid.Bool().Draw(t, "tick") {
			b.Note(b.E.Tick(b.TB.Context(), b.Clock, b))
		}
		if rapid.IntRange(0, 3).Draw(t, "restart") == 0 {
			b.Restart()
		}
	}
}
