package watch

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"wetside/internal/lab"
	"wetside/internal/service"
	"wetside/rules"
	"wetside/rules/timeline"
)

// Store is what the worker needs of the database.
type Store interface {
	timeline.History
	// ArrivalsAfter may give less than there is, at least one where there is any.
	ArrivalsAfter(ctx context.Context, after int64, limit int) ([]lab.Arrival, error)
	UnitStates(ctx context.Context) ([]lab.UnitState, error)
	// Commit writes all of c or nothing. An error that wraps
	// lab.ErrStaleTerm, or is a lab.KindConflict, ends the worker.
	Commit(ctx context.Context, term int64, c lab.Commit) error
	Alerts(ctx context.Context, f lab.AlertFilter) ([]lab.Alert, error)
	Alert(ctx context.Context, id string) (lab.Alert, error)
	UnitSettings(ctx context.Context) (map[string]lab.UnitSetting, error)
	// LabSettings are what holds for the whole lab.
	LabSettings(ctx context.Context) (lab.LabSettings, error)
	// RulesInUse is since when each lab has had each of some rules: from now
	// on where it did not have it before.
	RulesInUse(ctx context.Context, labs, rules []string) (lab.RulesInUse, error)
}

// Engine is what the worker needs of timeline.Engine.
type Engine interface {
	Restore(unit lab.UnitID, version int, blob []byte) error
	Snapshot(unit lab.UnitID) (version int, blob []byte, arrival int64)
	Feed(ctx context.Context, arrivals []lab.Arrival, h timeline.History) (timeline.Changes, error)
	Tick(ctx context.Context, now time.Time, h timeline.History) (timeline.Changes, error)
	Monitoring(from time.Time)
	ClockSet(now time.Time, by time.Duration)
	Paused(at time.Time)
	View(unit lab.UnitID, now time.Time) (lab.Unit, bool)
	Units() []lab.UnitID
	Jobs(unit lab.UnitID, now time.Time) []lab.Job
	SetAside() []timeline.Aside
	PutAside(a timeline.Aside)
}

// Config is what a Worker works with.
type Config struct {
	Store Store
	// NewEngine makes an engine that knows nothing yet. It is called at the
	// start and after a failed write.
	NewEngine func() Engine
	Term      int64
	// Program names this version of the program: a unit that another one could
	// not judge is tried again.
	Program string
	// Wake says that something has arrived. Defaults to polling alone.
	Wake  <-chan struct{}
	Clock lab.Clock // Defaults to lab.SystemClock.
	// Steady is time that nobody can set, from any beginning: by it the worker
	// notices that Clock was set. Defaults to the machine's, where Clock is.
	Steady func() time.Duration
	// ClockSet is told of that. It must not block. Defaults to nobody.
	ClockSet func(by time.Duration)
	Log      *slog.Logger // Defaults to slog.Default.
	// Publish is told of units whose view changed and of alerts that changed,
	// after the commit. It must not block. Defaults to nobody.
	Publish func(units []lab.Unit, alerts []lab.Alert)
	// Refolding is told, while it happens, that so many units are folded again
	// because another version of the program stored their states, and how far
	// that is. Defaults to nobody.
	Refolding func(units, percent int)
	// Connected tells whether the broker session is subscribed and what was
	// buffered there has been read: only then is silence judged. Defaults to
	// always.
	Connected func() bool

	// Trials are rules that are shown and page nobody for so long after a lab
	// first had them. Defaults to those of the built-in cards.
	Trials map[string]time.Duration

	// Tick is how often time passes for the fold; each time the worker also
	// looks for what no wake told of. Defaults to 250 ms.
	Tick time.Duration
	// SaveEvery is how often the state of a unit is written of which something
	// lasts; that of an unremarkable one fifteen times as seldom, or when a
	// restart would have much to read for it. Defaults to 2 s.
	SaveEvery time.Duration
	Chunk     int // arrivals in one go. Defaults to 1000.
}

// The worker's other times.
const (
	viewEvery   = time.Second      // views that time alone changes are made anew
	readEvery   = 5 * time.Second  // settings and open alerts are read again, all views made anew
	storeWithin = 30 * time.Second // one call of the store
	stopWithin  = 5 * time.Second  // the last write at a stop
	firstPause  = 250 * time.Millisecond
	longPause   = 5 * time.Second
	// A unit that has been quiet for so many arrivals has its state written
	// again, so that a restart need not read them; a few units a commit.
	staleAfter  = 20_000
	uneventful  = 15 // see SaveEvery
	staleAtOnce = 20
	allAlerts   = 10_000
)

func (c *Config) complete() error {
	if c.Store == nil || c.NewEngine == nil {
		return errors.New("watch: Store and NewEngine must be set")
	}
	if c.Clock == nil {
		c.Clock = lab.SystemClock{}
		if c.Steady == nil {
			began := time.Now()
			c.Steady = func() time.Duration { return time.Since(began) }
		}
	}
	if c.ClockSet == nil {
		c.ClockSet = func(time.Duration) {}
	}
	if c.Trials == nil {
		c.Trials = rules.Builtin().Trials()
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	if c.Publish == nil {
		c.Publish = func([]lab.Unit, []lab.Alert) {}
	}
	if c.Refolding == nil {
		c.Refolding = func(int, int) {}
	}
	if c.Connected == nil {
		c.Connected = func() bool { return true }
	}
	c.Tick = service.Positive(c.Tick, 250*time.Millisecond)
	c.SaveEvery = service.Positive(c.SaveEvery, 2*time.Second)
	if c.Chunk <= 0 {
		c.Chunk = 1000
	}
	return nil
}
