package access

import (
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"wetside/internal/lab"
)

// Failures slow a name from an address, longer each time; others at that
// address, the person elsewhere and on a device that is known are let in.
func TestSignInAttempts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		a := newAttempts(lab.SystemClock{})
		fail := func(name, addr, device string) time.Duration {
			try := signInAttempt(name, addr, device)
			wait := a.begin(try)
			if wait == 0 {
				a.end(try)
			}
			return wait
		}
		for i := range attemptsFree {
			if wait := fail("Wren", "192.0.2.1", ""); wait != 0 {
				t.Fatalf("attempt %d must wait %s", i+1, wait)
			}
		}
		for _, want := range []time.Duration{30 * time.Second, time.Minute, 2 * time.Minute, 4 * time.Minute, 8 * time.Minute, attemptsLongWait, attemptsLongWait} {
			if wait := fail("Wren", "192.0.2.1", ""); wait != want {
				t.Fatalf("waits %s, want %s", wait, want)
			}
			time.Sleep(want)
			if wait := fail("Wren", "192.0.2.1", ""); wait != 0 {
				t.Fatalf("after %s still %s", want, wait)
			}
		}
		for name, wait := range map[string]time.Duration{
			"Robin at that address": fail("Robin", "192.0.2.1", ""), "Wren elsewhere": fail("Wren", "192.0.2.2", ""), "Wren's own device": fail("Wren", "192.0.2.1", "d1"),
		} {
			if wait != 0 {
				t.Errorf("%s waits %s", name, wait)
			}
		}
		for i := range 3 * attemptsFreeName { // from everywhere
			fail("Siskin", fmt.Sprintf("198.51.100.%d", i), "")
		}
		if fail("Siskin", "203.0.113.1", "") == 0 {
			t.Error("a name is guessed from everywhere without a limit")
		}
		if wait := fail("Siskin", "203.0.113.1", "d2"); wait != 0 {
			t.Errorf("strangers lock Siskin out of a known device: %s", wait)
		}
		ok := signInAttempt("Wren", "192.0.2.2", "")
		a.succeed(ok)
		for range attemptsFree {
			if fail("Wren", "192.0.2.2", "") != 0 {
				t.Error("a success did not clear the failures")
			}
		}
		for i := range attemptsRemember/2 + 100 { // each name counts twice
			fail(fmt.Sprint("x", i), "192.0.2.9", "")
		}
		if len(a.fails) > attemptsRemember+3 {
			t.Errorf("%d failures are remembered", len(a.fails))
		}
		if fail("Wren", "192.0.2.2", "") == 0 {
			t.Error("failures under other names made these forgotten")
		}
	})
}

// Passwords that wait to be looked at are bounded too.
func TestSignInsAtOnceAreBounded(t *testing.T) {
	a := newAttempts(lab.SystemClock{})
	taken := 0
	for i := range 100 {
		if a.begin(signInAttempt(fmt.Sprint("n", i), "192.0.2.1", "")) == 0 {
			taken++
		}
	}
	if taken != lookingAtAddr {
		t.Errorf("%d at once from one address, want %d", taken, lookingAtAddr)
	}
	if a.begin(signInAttempt("Wren", "192.0.2.2", "")) != 0 {
		t.Error("another address must wait")
	}
}
