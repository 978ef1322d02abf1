package delivery

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"wetside/alerts/escalate"
	"wetside/internal/lab"
	"wetside/internal/service"
)

// Worker takes pages out of the outbox and brings them to people. Make it
// with New.
type Worker struct {
	*service.Runner
	cfg   Config
	wake  chan struct{} // coalesces; polling covers a lost one
	state atomic.Pointer[lab.DutyState]
	beat  beat
	// failingNow is what failed at the last look around; nil: not looked yet.
	failingNow atomic.Pointer[[]lab.MethodHealth]

	reloading sync.Mutex // what was read later counts

	mu      sync.Mutex
	senders map[string]chan struct{} // the poke of each person's sender
	stale   error                    // what ended the term
	ended   chan struct{}            // closed with stale

	senderWG         sync.WaitGroup
	checkedAt        time.Time
	nobodySince      time.Time
	besideSince      map[string]time.Time // faults of other parts, by code and subject
	unreachableSince map[string]time.Time // who is on call and cannot be reached
	rests            rests
}

// New makes a Worker.
func New(cfg Config) (*Worker, error) {
	if err := cfg.complete(); err != nil {
		return nil, err
	}
	w := &Worker{cfg: cfg, wake: make(chan struct{}, 1), senders: map[string]chan struct{}{}, ended: make(chan struct{})}
	w.Runner = service.NewRunner(w.run)
	return w, nil
}

// Wake says that there may be something new: an alert changed, or a person
// answered. It never blocks.
func (w *Worker) Wake() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// Reload reads who is on duty anew; what was changed counts when it returns.
func (w *Worker) Reload(ctx context.Context) error {
	if err := w.reload(ctx); err != nil {
		return err
	}
	w.Wake()
	w.pokeAll()
	return nil
}

func (w *Worker) reload(ctx context.Context) error {
	w.reloading.Lock()
	defer w.reloading.Unlock()
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	st, err := w.cfg.Store.DutyState(ctx)
	if err == nil {
		w.state.Store(&st)
	}
	return err
}

// run works until ctx ends or another wetside holds the lab. Whatever else
// fails, it goes on.
func (w *Worker) run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer w.senderWG.Wait()
	defer cancel()
	pause := firstPause
	begun := false
	for {
		err := w.begin(ctx, &begun)
		if err == nil {
			err = w.loop(ctx, func() { pause = firstPause })
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if stale(err) {
			return fmt.Errorf("pages: %w", err)
		}
		w.cfg.Log.Error("pages do not go out; trying again", "error", err, "after", pause)
		if !service.Pause(ctx, pause) {
			return ctx.Err()
		}
		pause = min(2*pause, longPause)
	}
}

// begin reads the duty, and takes up once what was under way before.
func (w *Worker) begin(ctx context.Context, begun *bool) error {
	if err := w.reload(ctx); err != nil {
		return err
	}
	if *begun {
		return nil
	}
	people, err := w.waiting(ctx)
	if err != nil {
		return err
	}
	w.poke(ctx, people)
	*begun = true
	return nil
}

func (w *Worker) waiting(ctx context.Context) ([]string, error) {
	ctx, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	return w.cfg.Store.WaitingPeople(ctx, w.cfg.Term)
}

// loop makes one turn after the other, until something fails.
func (w *Worker) loop(ctx context.Context, good func()) error {
	timer := time.NewTimer(0)
	defer timer.Stop()
	looked := time.Time{}
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-w.ended:
			return w.staleErr()
		case <-w.wake:
		case <-timer.C:
		}
		next, err := w.turn(ctx)
		if err != nil {
			return err
		}
		if now := w.cfg.Clock.Now(); now.Sub(looked) >= w.cfg.Look {
			looked = now
			if err := w.lookAround(ctx, now); err != nil {
				return err
			}
		}
		good()
		timer.Reset(min(max(next, 0), w.cfg.Look))
	}
}

// turn takes what is new and lets steps come due. It gives how long until the
// next step.
func (w *Worker) turn(ctx context.Context) (time.Duration, error) {
	call, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	for {
		now := w.now()
		people, more, err := w.cfg.Store.TakePages(call, w.cfg.Term, func(news []lab.NewPage, open []lab.PageCase) []lab.CaseChange {
			return escalate.Take(news, open, w.duty(now), now)
		})
		if err != nil {
			return 0, err
		}
		w.poke(ctx, people)
		if !more {
			break
		}
	}
	at, err := w.cfg.Store.NextStep(call)
	if err != nil || at.IsZero() {
		return w.cfg.Look, err
	}
	return at.Sub(w.now()), nil
}

// lookAround covers lost wakes and looks at the worker itself. It is the end
// of a whole loop: the heartbeat goes out here.
func (w *Worker) lookAround(ctx context.Context, now time.Time) error {
	if err := w.reload(ctx); err != nil { // another process may have changed it
		return err
	}
	call, cancel := context.WithTimeout(ctx, storeWithin)
	defer cancel()
	people, err := w.cfg.Store.PeopleWithWork(call)
	if err != nil {
		return err
	}
	w.poke(ctx, people)
	if now.Sub(w.checkedAt) >= w.cfg.CheckEvery {
		w.checkedAt = now
		if err := w.check(call, now); err != nil {
			return err
		}
	}
	return w.heartbeat(ctx, now)
}

// poke has the senders of people look at what waits for them.
func (w *Worker) poke(ctx context.Context, people []string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, person := range people {
		ch, ok := w.senders[person]
		if !ok {
			ch = make(chan struct{}, 1)
			w.senders[person] = ch
			w.senderWG.Go(func() { w.serve(ctx, person, ch) })
		}
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

// pokeAll has every sender look again: who is in the dark may have changed.
func (w *Worker) pokeAll() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, ch := range w.senders {
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

func (w *Worker) fail(err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.stale == nil {
		w.stale = err
		close(w.ended)
	}
}

func (w *Worker) staleErr() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.stale
}

// now is the moment as the store keeps it.
func (w *Worker) now() time.Time { return w.cfg.Clock.Now().UTC().Truncate(time.Microsecond) }

// stale tells whether another holder's term has begun.
func stale(err error) bool {
	return errors.Is(err, lab.ErrStaleTerm) || lab.KindOf(err) == lab.KindConflict
}
