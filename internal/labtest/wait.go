package labtest

import (
	"testing"
	"time"
)

// Patience is how long the helpers wait for what should take milliseconds:
// long enough for a busy machine, short enough to find a hang.
const Patience = 20 * time.Second

// Receive waits for a value from ch and fails the test when none comes
// within Patience or ch is closed. what names it in the failure.
func Receive[T any](t testing.TB, ch <-chan T, what string) T {
	t.Helper()
	timer := time.NewTimer(Patience)
	defer timer.Stop()
	select {
	case v, ok := <-ch:
		if !ok {
			t.Fatalf("waiting for %s: the channel was closed", what)
		}
		return v
	case <-timer.C:
		t.Fatalf("waiting for %s: nothing within %v", what, Patience)
	}
	panic("unreachable")
}

// Closed waits until ch is closed; values that come before are thrown away.
func Closed[T any](t testing.TB, ch <-chan T, what string) {
	t.Helper()
	timer := time.NewTimer(Patience)
	defer timer.Stop()
	for {
		select {
		case _, ok := <-ch:
			if !ok {
				return
			}
		case <-timer.C:
			t.Fatalf("waiting for %s: not within %v", what, Patience)
		}
	}
}

// Until waits until ok is true, looking again each time something comes from
// changed. Use it where the code under test signals its changes.
func Until[T any](t testing.TB, changed <-chan T, what string, ok func() bool) {
	t.Helper()
	timer := time.NewTimer(Patience)
	defer timer.Stop()
	for !ok() {
		select {
		case <-changed:
		case <-timer.C:
			t.Fatalf("waiting until %s: not within %v", what, Patience)
		}
	}
}

// Poll waits until ok is true, looking every 20 ms. It is for what cannot
// signal: another process, a browser.
func Poll(t testing.TB, what string, ok func() bool) {
	t.Helper()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	deadline := time.Now().Add(Patience)
	for !ok() {
		if time.Now().After(deadline) {
			t.Fatalf("waiting until %s: not within %v", what, Patience)
		}
		<-tick.C
	}
}

// Signal passes values from the code under test to the test. It never blocks
// the code: when more than its room is waiting, the oldest goes.
type Signal[T any] struct{ ch chan T }

// NewSignal makes a Signal with room for n values.
func NewSignal[T any](n int) *Signal[T] { return &Signal[T]{make(chan T, n)} }

// Emit passes a value on.
func (s *Signal[T]) Emit(v T) {
	for {
		select {
		case s.ch <- v:
			return
		default:
		}
		select {
		case <-s.ch:
		default:
		}
	}
}

// C is where the values come out.
func (s *Signal[T]) C() <-chan T { return s.ch }

// Wait receives one value with a deadline.
func (s *Signal[T]) Wait(t testing.TB, what string) T {
	t.Helper()
	return Receive(t, s.ch, what)
}
