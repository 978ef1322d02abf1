package service

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestPause(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		began := time.Now()
		if !Pause(t.Context(), time.Minute) || time.Since(began) != time.Minute {
			t.Errorf("a minute's pause took %v", time.Since(began))
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		began = time.Now()
		if Pause(ctx, time.Minute) || time.Since(began) != time.Second {
			t.Errorf("a pause that was broken off after a second took %v", time.Since(began))
		}
		if Pause(ctx, 0) || !Pause(t.Context(), -1) {
			t.Error("no pause at all must say whether its context is alive")
		}
	})
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
