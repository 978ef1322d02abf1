package sim

import (
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
)

// Lab is a simulated lab. See the package comment for what may be called at
// once.
type Lab struct {
	mu    sync.Mutex
	cfg   Config
	now   time.Time
	units []*unit
	out   queue
}

// New makes a lab that stands at cfg.Start.
func New(cfg Config) (*Lab, error) {
	if err := cfg.complete(); err != nil {
		return nil, err
	}
	l := &Lab{cfg: cfg, now: cfg.Start.Add(-cfg.Step)}
	for i := range cfg.Schedule.Units {
		l.units = append(l.units, newUnit(&cfg, i, &l.out))
	}
	return l, nil
}

// Start is when virtual time began.
func (l *Lab) Start() time.Time { return l.cfg.Start }

// Advance moves virtual time on and gives what reached the broker by then,
// by the time of arrival (Received). Messages that are still on their way
// come with the next call.
func (l *Lab) Advance(to time.Time) []lab.Raw {
	var out []lab.Raw
	for _, d := range l.advance(to) {
		if d.event != evConnect {
			out = append(out, d.raw)
		}
	}
	return out
}

func (l *Lab) advance(to time.Time) []delivery {
	l.mu.Lock()
	defer l.mu.Unlock()
	for !l.now.Add(l.cfg.Step).After(to) {
		l.now = l.now.Add(l.cfg.Step)
		for _, u := range l.units {
			u.tick(l.now)
		}
	}
	var out []delivery
	for {
		// What a later step sends cannot arrive before that step.
		d, ok := l.out.before(l.now)
		if !ok {
			return out
		}
		out = append(out, d)
	}
}

// FaultTruth tells what really went wrong so far, in the order of the units.
func (l *Lab) Faults() []FaultTruth {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []FaultTruth
	for _, u := range l.units {
		for _, t := range u.truths {
			out = append(out, *t)
		}
	}
	return out
}

// Runs tells what really happened in the runs so far.
func (l *Lab) Runs() []RunTruth {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []RunTruth
	for _, u := range l.units {
		for _, r := range u.done {
			c := *r
			c.Steps = slices.Clone(r.Steps)
			c.Trace, c.Sent = slices.Clone(r.Trace), slices.Clone(r.Sent)
			out = append(out, c)
		}
	}
	return out
}
