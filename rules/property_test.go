package rules

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wetside/internal/lab"
)

// drawDay writes an hour of a few units with things going wrong.
func drawDay(t *rapid.T) [][]lab.Message {
	var units [][]lab.Message
	for i := range rapid.IntRange(1, 3).Draw(t, "units") {
		s := newScript("c41")
		s.unit.Unit = fmt.Sprintf("unit-%d", i)
		s.upS = rapid.Bool().Draw(t, "up_s")
		start := float64(rapid.IntRange(0, 120).Draw(t, "start"))
		end := s.c41(start)
		if rapid.Bool().Draw(t, "second run") {
			s.run = "r2"
			end = s.c41(end + 60)
		}
		s.level(start+1, "waste", rapid.Float64Range(8, 18).Draw(t, "waste"))
		for at := start + 31; at < end; at += 30 {
			s.level(at, "waste", rapid.Float64Range(12, 16.5).Draw(t, "level"))
		}
		for range rapid.IntRange(0, 8).Draw(t, "faults") {
			s.drawFault(t, rapid.Float64Range(start, end).Draw(t, "when"))
		}
		units = append(units, s.messages())
	}
	return units
}

func (s *script) drawFault(t *rapid.T, from float64) {
	to := from + rapid.Float64Range(1, 90).Draw(t, "for")
	within := func(e *event) bool { return e.at >= from && e.at < to }
	switch rapid.IntRange(0, 6).Draw(t, "fault") {
	case 0, 1:
		off := rapid.Float64Range(-4, 4).Draw(t, "off")
		for _, e := range s.events {
			if within(e) && e.m.Temp != nil {
				v := *e.m.Temp.BathC + off
				e.m.Temp = &lab.Temp{BathC: &v}
			}
		}
	case 2:
		s.without(func(e *event) bool { return within(e) && e.m.Temp != nil })
	case 3:
		s.cut(from, from+rapid.Float64Range(0, 40).Draw(t, "hole"))
	case 4:
		for _, e := range s.events {
			if within(e) && e.m.Motion != nil {
				e.m.Motion = &lab.Motion{RPM: new(float64)}
			}
		}
	case 5:
		s.power(from, "battery", "lost", 50, 0)
		s.power(to, "mains", "restored", 0, 0)
	case 6: // the controller restarts
		s.restarts = append(s.restarts, from)
	}
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
			m.Received = m.Received.Add(sec(late))
			out = append(out, m)
			if rapid.IntRange(0, 49).Draw(t, "copy") == 0 {
				m.Received = m.Received.Add(sec(rapid.Float64Range(0, 300).Draw(t, "later")))
				out = append(out, m)
			}
		}
	}
	sortByReceived(out)
	return out
}

// outcome is what must not depend on how telemetry arrived.
func (b *bench) outcome() string {
	var out []string
	for _, o := range b.found {
		if o.Rule == RulePowerLost && o.Priority == lab.Low {
			o.ClearedAt = time.Time{} // an idle unit's ends when it goes offline, which is judged on arrival
		}
		if o.Rule != RuleUnitSilent && o.Rule != RuleClockOff {
			out = append(out, o.Unit.Unit+" "+line(o)+" "+o.ID)
		}
	}
	for _, r := range b.runs {
		v, err := json.Marshal(r)
		if err != nil {
			b.tb.Fatal(err)
		}
		out = append(out, string(v))
	}
	slices.Sort(out)
	return strings.Join(out, "\n")
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
		ref.ticks = 30 * time.Second
		entries := drawEntries(rt, units)
		ref.due = inOrder(entries)
		ref.play(straight).enterUntil(never)
		ref.note(ref.e.Flush(t.Context(), ref))

		b := newBench(t)
		b.ticks = 30 * time.Second
		for i := range entries { // entered at another time, of the same
			entries[i].Entered = entries[i].Entered.Add(sec(rapid.Float64Range(0, 900).Draw(rt, "entered")))
		}
		b.due = inOrder(entries)
		b.playInBatches(rt, shaken(rt, units))
		b.enterUntil(never)
		b.note(b.e.Flush(t.Context(), b))
		if got, want := b.outcome(), ref.outcome(); got != want {
			rt.Fatalf("%s", differ(got, want))
		}
	})
}

func differ(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	var out []string
	for _, l := range g {
		if !slices.Contains(w, l) {
			out = append(out, "+ "+l)
		}
	}
	for _, l := range w {
		if !slices.Contains(g, l) {
			out = append(out, "- "+l)
		}
	}
	return strings.Join(out, "\n")
}

// playInBatches feeds in batches of any size, with time passing in between
// and the state stored and taken back now and then.
func (b *bench) playInBatches(t *rapid.T, msgs []lab.Message) {
	for len(msgs) > 0 {
		n := min(len(msgs), rapid.SampledFrom([]int{1, 1, 7, 100, 1000}).Draw(t, "batch"))
		var batch []lab.Arrival
		for _, m := range msgs[:n] {
			batch = append(batch, b.entered(m.Received)...)
			if a, ok := b.stored(m); ok {
				batch = append(batch, a)
			}
			b.clock = m.Received
		}
		msgs = msgs[n:]
		b.note(b.e.Feed(b.tb.Context(), batch, b))
		if rapid.Bool().Draw(t, "tick") {
			b.note(b.e.Tick(b.tb.Context(), b.clock, b))
		}
		if rapid.IntRange(0, 3).Draw(t, "restart") == 0 {
			b.restart()
		}
	}
}

// restart goes on with a new engine that has the stored states.
func (b *bench) restart() {
	old := b.e
	b.e = NewEngine(Config{})
	for _, u := range old.Units() {
		v, blob, _ := old.Snapshot(u)
		if err := b.e.Restore(u, v, blob); err != nil {
			b.tb.Fatal(err)
		}
	}
}

// A buffered stretch that arrives at once gives the same alerts as it would
// have live, and those that had ended by then are found afterwards.
func TestBacklogSameAlerts(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		s := newScript("c41")
		end := s.c41(0)
		for range rapid.IntRange(1, 8).Draw(rt, "faults") {
			s.drawFault(rt, rapid.Float64Range(100, end-100).Draw(rt, "when"))
		}
		live := newBench(t).play(s.messages())
		live.note(live.e.Flush(t.Context(), live))
		from := rapid.Float64Range(-1, end-200).Draw(rt, "from")
		to := rapid.Float64Range(from+30, end).Draw(rt, "to")
		s.buffered(from, to)
		b := newBench(t).play(s.messages())
		b.note(b.e.Flush(t.Context(), b))
		if got, want := b.outcome(), live.outcome(); got != want {
			rt.Fatalf("%s", differ(got, want))
		}
		for _, o := range b.found {
			inside := !o.ClearedAt.IsZero() && o.RaisedAt.After(moment(from)) && o.ClearedAt.Before(moment(to-35))
			if o.Rule != RuleUnitSilent && o.Rule != RuleClockOff && inside && !o.FoundAfterwards {
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
		s.run = fmt.Sprintf("r%d", i)
		at = s.c41(at) + 100
	}
	b := newBench(t)
	b.ticks = time.Minute
	b.play(s.messages())
	_, blob, _ := b.e.Snapshot(s.unit)
	if len(blob) > 50_000 {
		t.Errorf("snapshot of %d bytes", len(blob))
	}
	b.restart()
	if _, again, _ := b.e.Snapshot(s.unit); string(again) != string(blob) {
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
		s.unit.Unit = fmt.Sprintf("unit-%d", i)
		end := s.c41(float64(i))
		for at := 5.0; at < end; at += 20 {
			s.level(at, "waste", 5+at/1000)
			s.level(at+1, "wash", 15-at/1000)
		}
		all = append(all, s.messages()...)
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
			e := NewEngine(Config{})
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
