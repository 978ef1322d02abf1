package web

import (
	"sync"
	"time"

	"wetside/internal/lab"
)

// Sign-in attempts that may fail within a window before a pause. Figures are
// common practice, no source: few for one name from one address, more for an
// address (a lab behind one router), many for a name (so that a stranger
// cannot lock a person out easily).
const (
	attemptWindow    = 15 * time.Minute
	attemptsPair     = 5
	attemptsAddress  = 30
	attemptsName     = 100
	attemptsRemember = 10_000
)

// attempts counts failed sign-ins. It is safe for concurrent use.
type attempts struct {
	clock lab.Clock
	mu    sync.Mutex
	fails map[string]failures
}

type failures struct {
	n     int
	until time.Time // when they are forgotten
}

func newAttempts(c lab.Clock) *attempts {
	return &attempts{clock: c, fails: map[string]failures{}}
}

func attemptKeys(name, addr string) map[string]int {
	return map[string]int{
		"p\x00" + name + "\x00" + addr: attemptsPair,
		"a\x00" + addr:                 attemptsAddress,
		"n\x00" + name:                 attemptsName,
	}
}

// begin counts an attempt as failed until succeed takes it back, so that
// attempts made at once are counted too. It gives how long to wait instead,
// zero where the attempt may be made.
func (a *attempts) begin(name, addr string) time.Duration {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.clock.Now()
	keys := attemptKeys(name, addr)
	for k, most := range keys {
		if f := a.fails[k]; f.n >= most && f.until.After(now) {
			return f.until.Sub(now)
		}
	}
	a.makeRoom(now)
	for k := range keys {
		f := a.fails[k]
		if !f.until.After(now) {
			f = failures{until: now.Add(attemptWindow)}
		}
		f.n++
		a.fails[k] = f
	}
	return 0
}

// succeed takes the attempt back, and all others of this name from there.
func (a *attempts) succeed(name, addr string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for k, most := range attemptKeys(name, addr) {
		f := a.fails[k]
		f.n--
		if most == attemptsPair || f.n <= 0 {
			delete(a.fails, k)
			continue
		}
		a.fails[k] = f
	}
}

// makeRoom forgets what has run out, and anything when there is too much.
func (a *attempts) makeRoom(now time.Time) {
	if len(a.fails) < attemptsRemember {
		return
	}
	for k, f := range a.fails {
		if !f.until.After(now) {
			delete(a.fails, k)
		}
	}
	for k := range a.fails {
		if len(a.fails) < attemptsRemember {
			return
		}
		delete(a.fails, k)
	}
}
