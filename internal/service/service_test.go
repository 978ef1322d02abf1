package service

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// spy notes what was called.
type spy struct {
	name string
	log  *[]string
	fail error
	hold chan struct{} // Stop waits for it
}

func (s *spy) Start(context.Context) error {
	*s.log = append(*s.log, "start "+s.name)
	return s.fail
}

func (s *spy) Stop() {
	if s.hold != nil {
		<-s.hold
	}
	*s.log = append(*s.log, "stop "+s.name)
}

func TestOrder(t *testing.T) {
	var log []string
	var g Group
	for _, name := range []string{"store", "ingest", "web"} {
		g.Add(name, &spy{name: name, log: &log})
	}
	if err := g.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(g.Stop(), g.Stop()); err != nil {
		t.Fatal(err)
	}
	want := []string{"start store", "start ingest", "start web", "stop web", "stop ingest", "stop store"}
	if !slices.Equal(log, want) {
		t.Errorf("got %q; want %q", log, want)
	}
	if err := g.Start(t.Context()); err == nil {
		t.Error("started again after the stop")
	}
}

func TestStopBeforeStart(t *testing.T) {
	var log []string
	var g Group
	g.Add("store", &spy{name: "store", log: &log})
	if err := g.Stop(); err != nil || len(log) != 0 {
		t.Errorf("%v, %q", err, log)
	}
}

func TestFailedStartStopsTheOthers(t *testing.T) {
	var log []string
	away := errors.New("the broker is away")
	var g Group
	g.Add("store", &spy{name: "store", log: &log})
	g.Add("ingest", &spy{name: "ingest", log: &log, fail: away})
	g.Add("web", &spy{name: "web", log: &log})
	err := g.Start(t.Context())
	if !errors.Is(err, away) || !strings.Contains(err.Error(), "start ingest") {
		t.Errorf("error %v", err)
	}
	if want := []string{"start store", "start ingest", "stop store"}; !slices.Equal(log, want) {
		t.Errorf("got %q; want %q", log, want)
	}
}

func TestStopHasADeadline(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log []string
		g := Group{StopWithin: time.Minute}
		stuck := &spy{name: "ingest", log: &log, hold: make(chan struct{})}
		g.Add("store", &spy{name: "store", log: &log})
		g.Add("ingest", stuck)
		if err := g.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		begun := time.Now()
		err := g.Stop()
		if err == nil || !strings.Contains(err.Error(), "stop ingest: not within 1m0s") || time.Since(begun) != time.Minute {
			t.Errorf("error %v after %v", err, time.Since(begun))
		}
		if !slices.Contains(log, "stop store") {
			t.Error("the store was not stopped behind the stuck part")
		}
		close(stuck.hold)
		synctest.Wait()
	})
}

func TestWaitNamesWhatEnded(t *testing.T) {
	broken := errors.New("another wetside holds this lab")
	end := make(chan struct{})
	var g Group
	g.Add("web", NewRunner(func(ctx context.Context) error { <-ctx.Done(); return ctx.Err() }))
	g.Add("worker", NewRunner(func(context.Context) error { <-end; return broken }))
	if err := g.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	close(end)
	if err := g.Wait(t.Context()); !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "worker ended") {
		t.Errorf("error %v", err)
	}
	if err := g.Stop(); err != nil {
		t.Error(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := new(Group).Wait(ctx); err != nil {
		t.Errorf("a wait that was ended: %v", err)
	}
}

func TestRunner(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	r := NewRunner(func(ctx context.Context) error { <-ctx.Done(); return ctx.Err() })
	if err := r.Start(ctx); err != nil {
		t.Fatal(err)
	}
	if err := r.Start(ctx); err == nil {
		t.Error("started twice")
	}
	cancel() // only bounds the start
	select {
	case <-r.Done():
		t.Error("ended with the context of its start")
	default:
	}
	r.Stop()
	r.Stop()
	<-r.Done()
	if r.Err() != nil {
		t.Errorf("error %v after Stop", r.Err())
	}
	early := NewRunner(func(context.Context) error { return nil })
	early.Stop()
	if err := early.Start(t.Context()); err == nil {
		t.Error("started after Stop")
	}
}
