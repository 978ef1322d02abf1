package access

import (
	"sync"
	"time"

	"wetside/internal/lab"
)

// How guessing is slowed down; figures are common practice, no source. A few
// failures are free; then each further one must wait, twice as long as the
// one before. What counts is one name from one address, so that nobody locks
// out those who share it, and one name from everywhere, much more slowly. A
// device that this person signed in from before counts for itself, so that no
// stranger can lock a person out of it.
const (
	attemptsFree       = 5  // for one name from one address
	attemptsFreeDevice = 10 // from a device that is known
	attemptsFreeName   = 50 // for one name from all devices that are not
	attemptsFirstWait  = 30 * time.Second
	attemptsLongWait   = 15 * time.Minute
	attemptsNameWait   = 2 * time.Minute
	attemptsForget     = 24 * time.Hour // after the last failure
	attemptsRemember   = 10_000

	// Passwords that are checked at once. Each takes a tenth of a second and
	// 64 MiB, and argon works on two at a time: what waits is bounded here.
	lookingAtAll  = 32
	lookingAtAddr = 8
)

// attempts counts failed sign-ins. It is safe for concurrent use.
type attempts struct {
	clock lab.Clock
	mu    sync.Mutex
	fails map[string]failures

	looking map[string]int // passwords being checked, by address: no more keys than requests
	all     int
}

type failures struct {
	n    int
	last time.Time
}

// attempt is one try, under every key that its failure is counted by.
type attempt struct {
	keys map[string]allowance
	addr string
}

// allowance is how many failures are free, and how long waits grow.
type allowance struct {
	free int
	most time.Duration
}

func newAttempts(c lab.Clock) *attempts {
	return &attempts{clock: c, fails: map[string]failures{}, looking: map[string]int{}}
}

// signInAttempt is a try to sign in; device is "" where it is not known.
func signInAttempt(name, addr, device string) attempt {
	if device != "" {
		return attempt{addr: addr, keys: map[string]allowance{"d\x00" + device + "\x00" + name: {attemptsFreeDevice, attemptsLongWait}}}
	}
	return attempt{addr: addr, keys: map[string]allowance{
		"p\x00" + name + "\x00" + addr: {attemptsFree, attemptsLongWait},
		"n\x00" + name:                 {attemptsFreeName, attemptsNameWait},
	}}
}

// passwordAttempt is a try of somebody who is signed in to type their password
// again, or of somebody to give the set-up code. It counts from everywhere: who
// sits at a screen that is signed in has an address like the person's own.
func passwordAttempt(name, addr string) attempt {
	return attempt{addr: addr, keys: map[string]allowance{"c\x00" + name: {attemptsFree, attemptsLongWait}}}
}

func (w allowance) wait(n int) time.Duration {
	if n < w.free {
		return 0
	}
	wait := attemptsFirstWait
	for range min(n-w.free, 10) {
		wait *= 2
	}
	return min(wait, w.most)
}

// begin counts an attempt as failed until succeed takes it back, so that
// attempts made at once are counted too. It gives how long to wait instead;
// where that is zero, end must be called when the password was looked at.
func (a *attempts) begin(t attempt) time.Duration {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.clock.Now()
	var wait time.Duration
	for k, w := range t.keys {
		f := a.fails[k]
		if now.Sub(f.last) >= attemptsForget {
			continue
		}
		wait = max(wait, f.last.Add(w.wait(f.n)).Sub(now))
	}
	if wait > 0 {
		return wait
	}
	if a.all >= lookingAtAll || a.looking[t.addr] >= lookingAtAddr {
		return time.Second
	}
	a.all++
	a.looking[t.addr]++
	for k := range t.keys {
		f, known := a.fails[k]
		if now.Sub(f.last) >= attemptsForget {
			f = failures{}
		}
		if !known {
			a.makeRoom(now)
		}
		a.fails[k] = failures{n: f.n + 1, last: now}
	}
	return 0
}

// end says that the password of an attempt was looked at.
func (a *attempts) end(t attempt) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.all--
	if a.looking[t.addr]--; a.looking[t.addr] <= 0 {
		delete(a.looking, t.addr)
	}
}

// succeed takes the failure of the attempt back, and clears what this name
// failed from this address or device. Of what the name failed from everywhere
// only this one goes: the others may be a stranger's.
func (a *attempts) succeed(t attempt) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for k, w := range t.keys {
		f := a.fails[k]
		if f.n--; w.free != attemptsFreeName || f.n <= 0 {
			delete(a.fails, k)
			continue
		}
		a.fails[k] = f
	}
}

// makeRoom drops counts that have expired and, while the table is still full,
// the smallest one. The oldest would be wrong: a guesser could push out their own
// high count by failing once under thousands of other names.
func (a *attempts) makeRoom(now time.Time) {
	if len(a.fails) < attemptsRemember {
		return
	}
	least, at := "", failures{}
	for k, f := range a.fails {
		if now.Sub(f.last) >= attemptsForget {
			delete(a.fails, k)
			continue
		}
		if least == "" || f.n < at.n || f.n == at.n && f.last.Before(at.last) {
			least, at = k, f
		}
	}
	if len(a.fails) >= attemptsRemember {
		delete(a.fails, least)
	}
}
