package watch

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"go.uber.org/goleak"
	"pgregory.net/rapid"

	"wetside/alerts"
	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules/timeline"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var (
	start   = time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	plover  = lab.UnitID{Lab: "tern-street", Unit: "plover"}
	heron   = lab.UnitID{Lab: "tern-street", Unit: "heron"}
	avocet  = lab.UnitID{Lab: "tern-street", Unit: "avocet"}
	threeOf = []lab.UnitID{plover, heron, avocet}
)

// news is what was published.
type news struct {
	units  []lab.Unit
	alerts []lab.Alert
}

// bench is a worker on a fake store and a fake engine.
type bench struct {
	*Worker
	store     *fakeStore
	published *labtest.Signal[news]
	wake      chan struct{}
}

type tb interface {
	Helper()
	Fatal(args ...any)
}

func newWorker(t tb, store *fakeStore, change func(*Config)) *bench {
	t.Helper()
	b := &bench{store: store, published: labtest.NewSignal[news](1000), wake: make(chan struct{}, 1)}
	cfg := Config{
		Store: store, NewEngine: func() Engine { return newFakeEngine() }, Term: 1, Wake: b.wake,
		Clock: store.clock, Log: slog.New(slog.DiscardHandler), Tick: time.Hour, Chunk: 7,
		Publish: func(u []lab.Unit, a []lab.Alert) { b.published.Emit(news{u, a}) },
	}
	if change != nil {
		change(&cfg)
	}
	w, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	b.Worker = w
	return b
}

// counted is 1 to n.
func counted(n int) []int64 {
	out := make([]int64, n)
	for i := range out {
		out[i] = int64(i + 1)
	}
	return out
}

// Any arrivals in any chunks, a worker that is stopped, killed, refused and
// robbed of replies anywhere: each message is folded once and in order, each
// excursion pages once.
func TestRestartsNeitherRepeatNorSkip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clock := labtest.NewClock(start)
		store := newFakeStore(clock)
		sent := map[lab.UnitID]int{}
		warm, excursions := map[lab.UnitID]bool{}, 0
		for range rapid.IntRange(1, 8).Draw(t, "lives") {
			for range rapid.IntRange(0, 25).Draw(t, "arrivals") {
				unit := rapid.SampledFrom(threeOf).Draw(t, "unit")
				hot := rapid.Bool().Draw(t, "hot")
				if hot && !warm[unit] {
					excursions++
				}
				warm[unit] = hot
				store.heard(unit, map[bool]float64{true: 41, false: 38}[hot])
				sent[unit]++
			}
			b := newWorker(t, store, func(c *Config) {
				c.Chunk = rapid.IntRange(1, 9).Draw(t, "chunk")
				c.SaveEvery = time.Hour
			})
			// One life: it folds chunk by chunk until a write fails or a
			// kill takes what was not written.
			left := rapid.IntRange(0, 12).Draw(t, "writes until it dies")
			how := rapid.SampledFrom([]string{"refuse", "lose", ""}).Draw(t, "and then")
			store.fail = func() string {
				left--
				if left < 0 {
					return how
				}
				return ""
			}
			f := b.newFolder()
			err := f.rebuild(t.Context())
			if err == nil && rapid.Bool().Draw(t, "stopped in order") {
				f.saveLast()
			}
			clock.Advance(time.Second)
		}
		store.fail = func() string { return "" }
		f := newWorker(t, store, nil).newFolder()
		if err := f.rebuild(t.Context()); err != nil {
			t.Fatal(err)
		}
		f.saveLast()
		for unit, n := range sent {
			if got := store.seqs(unit); !slices.Equal(got, counted(n)) {
				t.Fatalf("%s: folded %v; want 1 to %d once each", unit, got, n)
			}
		}
		_, events, pages := store.Stored()
		begun := 0
		for _, e := range events {
			if e.What == lab.EventRaised || e.What == lab.EventReturned {
				begun++
			}
		}
		if begun != excursions || len(pages) != excursions {
			t.Fatalf("%d excursions, %d began in the history, %d pages", excursions, begun, len(pages))
		}
	})
}

func TestFollowsWhatArrives(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	store.settings[plover.String()] = lab.UnitSetting{Unit: plover.String(), Name: "Plover", Standing: "accepted"}
	store.heard(plover, 38)
	b := newWorker(t, store, nil)
	if b.Rebuilt() || len(b.Units()) != 0 {
		t.Fatal("rebuilt before the start")
	}
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer b.Stop()
	labtest.Until(t, b.published.C(), "the stored message is folded", func() bool { return len(b.Units()) == 1 })

	store.heard(plover, 41)
	b.wake <- struct{}{}
	labtest.Until(t, b.published.C(), "the alert is open", func() bool {
		u, ok := b.Unit(plover)
		return ok && len(u.OpenAlerts) == 1 && len(b.OpenAlerts()) == 1
	})
	u, _ := b.Unit(plover)
	if u.Name != "Plover" || u.Standing != "accepted" || u.Model != "2" {
		t.Errorf("unit is %+v", u)
	}
	labtest.Poll(t, "it is rebuilt", b.Rebuilt) // both messages may have come within the rebuild

	actions := alerts.NewActions(alerts.ActionsConfig{Store: store, Clock: store.clock, Changed: func(a lab.Alert) { b.Nudge(a.ID) }})
	if _, err := actions.Acknowledge(t.Context(), u.OpenAlerts[0], "ada", ""); err != nil {
		t.Fatal(err)
	}
	labtest.Until(t, b.published.C(), "the acknowledgement is shown", func() bool {
		open := b.OpenAlerts()
		return len(open) == 1 && open[0].State == lab.Acknowledged && open[0].AcknowledgedBy == "ada"
	})
	store.heard(plover, 38)
	b.wake <- struct{}{}
	labtest.Until(t, b.published.C(), "the alert is closed", func() bool { return len(b.OpenAlerts()) == 0 })
	b.Stop()
	b.Stop()
	if got := store.seqs(plover); !slices.Equal(got, counted(3)) {
		t.Errorf("the state stored at the stop took %v; want 1 to 3", got)
	}
}

func TestLooksWhereNoWakeCame(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	b := newWorker(t, store, func(c *Config) { c.Wake, c.Tick = nil, time.Millisecond })
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer b.Stop()
	store.heard(heron, 41)
	labtest.Until(t, b.published.C(), "the message is found without a wake", func() bool { return len(b.OpenAlerts()) == 1 })
}

func TestGoesOnAfterAFailedWrite(t *testing.T) {
	for _, how := range []string{"refuse", "lose"} {
		t.Run(how, func(t *testing.T) {
			store := newFakeStore(labtest.NewClock(start))
			var tried atomic.Int32
			store.fail = func() string {
				if tried.Add(1) <= 2 {
					return how
				}
				return ""
			}
			b := newWorker(t, store, nil)
			for range 5 {
				store.heard(plover, 41)
			}
			if err := b.Start(t.Context()); err != nil {
				t.Fatal(err)
			}
			labtest.Until(t, b.published.C(), "it has recovered", func() bool { return len(b.OpenAlerts()) == 1 })
			labtest.Poll(t, "it says so", b.Rebuilt)
			b.Stop()
			if got := store.seqs(plover); !slices.Equal(got, counted(5)) {
				t.Errorf("folded %v; want 1 to 5", got)
			}
			if _, _, pages := store.Stored(); len(pages) != 1 {
				t.Errorf("%d pages; want 1", len(pages))
			}
		})
	}
}

// What could not be written was never found: a stop must not save a state that
// rests on it, or nobody would ever be paged.
func TestStopAfterAFailedWriteSavesNothing(t *testing.T) {
	for name, fails := range map[string]func(f *folder, s *fakeStore) error{
		"at an arrival": func(f *folder, _ *fakeStore) error { return f.drain(t.Context()) },
		"at what people did": func(f *folder, s *fakeStore) error {
			s.fail = func() string { return "" }
			if err := f.drain(t.Context()); err != nil {
				return errors.New("not there yet")
			}
			s.heard(heron, 41)
			s.fail = func() string { return "refuse" }
			return f.tick(t.Context())
		},
	} {
		t.Run(name, func(t *testing.T) {
			store := newFakeStore(labtest.NewClock(start))
			f := newWorker(t, store, nil).newFolder()
			if err := f.rebuild(t.Context()); err != nil {
				t.Fatal(err)
			}
			store.heard(plover, 41)
			store.fail = func() string { return "refuse" }
			if err := fails(f, store); err == nil {
				t.Fatal("the write did not fail")
			}
			_, _, pages := store.Stored()
			before := len(pages)
			store.fail = func() string { return "" } // the database is back just for the stop
			f.saveLast()
			next := newWorker(t, store, nil).newFolder()
			if err := next.rebuild(t.Context()); err != nil {
				t.Fatal(err)
			}
			if _, _, pages := store.Stored(); len(pages) != before+1 {
				t.Errorf("%d pages before the stop, %d after the next start; want one more", before, len(pages))
			}
		})
	}
}

// lameEngine folds what it is given and then fails, as one does whose history
// cannot be read.
type lameEngine struct{ *fakeEngine }

func (e lameEngine) Feed(ctx context.Context, arrivals []lab.Arrival, h timeline.History) (timeline.Changes, error) {
	if _, err := e.fakeEngine.Feed(ctx, arrivals, h); err != nil {
		return timeline.Changes{}, err
	}
	return timeline.Changes{}, errors.New("the telemetry of before cannot be read")
}

// Nor is a state saved of which the engine did not say what it found.
func TestStopAfterAFailedFoldSavesNothing(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	f := newWorker(t, store, func(c *Config) { c.NewEngine = func() Engine { return lameEngine{newFakeEngine()} } }).newFolder()
	if err := f.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	store.heard(plover, 41)
	if err := f.drain(t.Context()); err == nil {
		t.Fatal("the fold did not fail")
	}
	f.saveLast()
	if got := store.seqs(plover); len(got) != 0 {
		t.Errorf("a state with %v was saved; what it found was never told", got)
	}
}

func TestAnotherHolderEndsIt(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	store.fail = func() string { return "stale" }
	store.heard(plover, 41)
	b := newWorker(t, store, nil)
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	labtest.Closed(t, b.Done(), "the worker has ended")
	if err := b.Err(); !errors.Is(err, lab.ErrStaleTerm) || b.Rebuilt() {
		t.Errorf("error %v, rebuilt %v; want the stale term, not rebuilt", err, b.Rebuilt())
	}
	b.Stop()
}

// A state of another version: the unit is folded again from its telemetry,
// the others are not, and no alert is touched by what was found before; nor is
// one where the store gives less at a time than it is asked for.
func TestUnknownVersionFoldsAgain(t *testing.T) {
	for _, atMost := range []int{0, 3} {
		t.Run(fmt.Sprintf("at most %d", atMost), func(t *testing.T) { unknownVersionFoldsAgain(t, atMost) })
	}
}

func unknownVersionFoldsAgain(t *testing.T, atMost int) {
	clock := labtest.NewClock(start)
	store := newFakeStore(clock)
	for i := range 30 {
		store.heard(plover, []float64{38, 41, 38}[i%3])
		store.heard(heron, 38)
	}
	first := newWorker(t, store, nil).newFolder()
	if err := first.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	first.saveLast()
	_, events, pages := store.Stored()

	old := store.states[plover]
	old.Version, old.Blob = 1, []byte("of another time")
	store.states[plover] = old
	store.heard(plover, 41)
	store.atMost = atMost
	told := [2]int{}
	second := newWorker(t, store, func(c *Config) { c.Refolding = func(units, percent int) { told = [2]int{units, percent} } }).newFolder()
	if err := second.rebuild(t.Context()); err != nil {
		t.Fatal(err)
	}
	if want := [2]int{1, 100}; told != want {
		t.Errorf("the start told last of %d units at %d %%, want %d at %d", told[0], told[1], want[0], want[1])
	}
	if err := second.drain(t.Context()); err != nil {
		t.Fatal(err)
	}
	second.saveLast()
	if p, h := store.seqs(plover), store.seqs(heron); !slices.Equal(p, counted(31)) || !slices.Equal(h, counted(30)) {
		t.Errorf("plover folded %v, heron %v", p, h)
	}
	_, events2, pages2 := store.Stored()
	if len(events2) != len(events)+1 || len(pages2) != len(pages)+1 {
		t.Errorf("history grew by %d, pages by %d; want 1 and 1: %v", len(events2)-len(events), len(pages2)-len(pages), events2[len(events):])
	}
}

func TestSilenceIsJudgedOnlyWhileConnected(t *testing.T) {
	store := newFakeStore(labtest.NewClock(start))
	var connected atomic.Bool
	ticks := labtest.NewSignal[struct{}](1)
	engine := newFakeEngine()
	engine.ticked = func() { ticks.Emit(struct{}{}) }
	b := newWorker(t, store, func(c *Config) {
		c.NewEngine = func() Engine { return engine }
		c.Connected, c.Tick = connected.Load, time.Millisecond
	})
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, on := range []bool{true, false, true} {
		ticks.Wait(t, "a tick")
		connected.Store(on)
		for range 3 { // the first may have begun before
			ticks.Wait(t, "a tick")
		}
	}
	b.Stop()
	if want := []bool{false, true, false, true}; !slices.Equal(engine.monitored, want) {
		t.Errorf("monitored %v; want %v", engine.monitored, want)
	}
}

// A page that was held back by shelving goes out when its time is up.
func TestShelvingEnds(t *testing.T) {
	clock := labtest.NewClock(start)
	store := newFakeStore(clock)
	b := newWorker(t, store, func(c *Config) { c.Tick = time.Millisecond })
	actions := alerts.NewActions(alerts.ActionsConfig{Store: store, Clock: clock, Changed: func(a lab.Alert) { b.Nudge(a.ID) }})
	store.heard(plover, 41)
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer b.Stop()
	labtest.Until(t, b.published.C(), "the alert is open", func() bool { return len(b.OpenAlerts()) == 1 })
	if _, err := actions.Shelve(t.Context(), b.OpenAlerts()[0].ID, "ada", 30, "probe is being changed"); err != nil {
		t.Fatal(err)
	}
	labtest.Until(t, b.published.C(), "it is shown shelved", func() bool { return b.OpenAlerts()[0].ShelvedUntil != nil })
	store.heard(plover, 38)
	store.heard(plover, 41)
	labtest.Until(t, b.published.C(), "it has returned", func() bool { return b.OpenAlerts()[0].Occurrence == 2 })
	if _, _, pages := store.Stored(); len(pages) != 1 {
		t.Fatalf("%d pages while shelved; want the first only", len(pages))
	}
	clock.Advance(31 * time.Minute)
	labtest.Until(t, b.published.C(), "it is off the shelf", func() bool { return b.OpenAlerts()[0].ShelvedUntil == nil })
	if _, _, pages := store.Stored(); len(pages) != 2 || pages[1].Occurrence != 2 {
		t.Fatalf("pages %v; want one more for occurrence 2", pages)
	}
}

// A page that was held back, for the unit was out of service or the lab was
// closed, goes out when that ends and the alert still lasts.
func TestHeldPagesGoOutLater(t *testing.T) {
	for name, hold := range map[string]func(*fakeStore, bool){
		lab.HeldOutOfService: func(s *fakeStore, on bool) {
			s.settings = map[string]lab.UnitSetting{}
			if on {
				s.settings[plover.String()] = lab.UnitSetting{Unit: plover.String(), Standing: lab.UnitOutOfService}
			}
		},
		lab.HeldLabClosed: func(s *fakeStore, on bool) { s.labSettings = lab.LabSettings{Closed: on} },
	} {
		t.Run(name, func(t *testing.T) {
			store := newFakeStore(labtest.NewClock(start))
			set := func(on bool) {
				store.mu.Lock()
				defer store.mu.Unlock()
				hold(store, on)
			}
			set(true)
			b := newWorker(t, store, func(c *Config) { c.Tick = time.Millisecond })
			store.heard(plover, 41)
			if err := b.Start(t.Context()); err != nil {
				t.Fatal(err)
			}
			defer b.Stop()
			labtest.Until(t, b.published.C(), "it is open and held", func() bool { a := b.OpenAlerts(); return len(a) == 1 && a[0].Held == name })
			if _, _, pages := store.Stored(); len(pages) != 0 {
				t.Fatalf("%d pages while held; want none", len(pages))
			}
			set(false)
			b.Nudge("")
			labtest.Until(t, b.published.C(), "it is held no more", func() bool { return b.OpenAlerts()[0].Held == "" })
			if _, _, pages := store.Stored(); len(pages) != 1 {
				t.Fatalf("%d pages; want the one that was held back", len(pages))
			}
		})
	}
}

func TestConfigIsChecked(t *testing.T) {
	if _, err := New(Config{}); err == nil {
		t.Fatal("a worker without store and engine was made")
	}
	if _, err := New(Config{Store: newFakeStore(labtest.NewClock(start))}); err == nil {
		t.Fatal("a worker without an engine was made")
	}
	b := newWorker(t, newFakeStore(labtest.NewClock(start)), nil)
	b.Stop() // before Start
	if err := b.Start(t.Context()); err == nil {
		t.Fatal("started after it was stopped")
	}
}
