package rules

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// Config is what the fold judges by. All of it is data.
type Config struct {
	Book *process.Book // the process sheets
	Data *Data         // holds, limits, waits, texts
	// BookAt, where set, gives the sheets that were in force at a moment, in
	// place of Book: a run is judged by those of its beginning, whenever that
	// is done.
	BookAt func(time.Time) *process.Book
	// Library is what Book was taken from, for who adds the lab's changes to it.
	Library *process.Library
	// Zone is where the lab is: times of day in texts are of its clock.
	// Defaults to UTC, which the texts then say.
	Zone *time.Location

	with map[judgedWith]*process.Step // steps judged by a developer of the lab's
	at   map[judgedAt]*process.Step   // steps judged around another temperature than the sheet's
}

type judgedWith struct {
	step *process.Step
	by   *process.Developer
}

type judgedAt struct {
	step *process.Step
	aimC float64
}

// atKept is how many steps at other temperatures are kept at once.
const atKept = 512

// stepAt is a step at the temperature that the unit is set to, where the sheet
// leaves it to the unit or has a time for it.
func (c *Config) stepAt(sp *process.Step, aimC float64) *process.Step {
	if aimC <= 0 || aimC == sp.AimC || c.at == nil {
		return sp
	}
	key := judgedAt{sp, aimC}
	if out := c.at[key]; out != nil {
		return out
	}
	if len(c.at) >= atKept {
		clear(c.at)
	}
	out := sp.At(aimC)
	c.at[key] = out
	return out
}

// SheetsAt gives the sheets in force at a moment.
func (c *Config) SheetsAt(t time.Time) *process.Book {
	if c.BookAt != nil {
		return c.BookAt(t)
	}
	return c.Book
}

// stepWith is a step judged by a developer of the book; one that it does not
// have changes nothing.
func (c *Config) stepWith(book *process.Book, sp *process.Step, id string) *process.Step {
	d, ok := book.Developer(id)
	if !ok {
		return sp
	}
	key := judgedWith{sp, d}
	if c.with[key] == nil {
		c.with[key] = sp.With(d)
	}
	return c.with[key]
}

// History gives stored telemetry back to the fold when late evidence makes it
// fold a unit again. It must return every stored message of the unit whose
// arrival number is at least floor (floor 0: all there is), in any order.
type History interface {
	UnitMessages(ctx context.Context, unit lab.UnitID, floor int64) ([]lab.Message, error)
}

// Changes is what a call to Feed or Tick found. It is keyed by what things
// are of: applying it twice changes nothing.
type Changes struct {
	// Occurrences are new or changed, unit by unit.
	Occurrences []OccurrenceChange
	// Runs are new or changed.
	Runs []lab.Run
	// Touched are the units whose view or state may have changed.
	Touched []lab.UnitID
	// Aside are the units that could not be folded; what was found of them in
	// this call is not in it.
	Aside []Aside
}

// OccurrenceChange is one episode of a condition as it stands now.
type OccurrenceChange struct {
	lab.Occurrence
	// Noticed is the arrival time at which the fold found it out.
	Noticed time.Time
	// FoundAfterwards: it had already ended when it was noticed.
	FoundAfterwards bool
	// Was is the ID the same episode had before late evidence moved its
	// beginning; "" otherwise. What people did to it goes with it.
	Was string
	// Withdrawn: later evidence says that it never was.
	Withdrawn bool
}

// StateVersion is the version of the stored state. A state of another version
// is folded anew from stored telemetry.
const StateVersion = 2

// JudgementVersion is raised when the same messages may be judged otherwise
// than before: a record that was sealed under another is judged differently
// now, and nobody changed it. 1: before readings were believed or not. 2: with
// belief, dead bands and bounds of probes that were never checked. 3: film over
// several runs, names of steps, steps inside holes, the time in a step as the
// unit counts it. 4: the run of a control strip has a verdict. 5: bounds by the
// probe's class, and by drift alone against a house aim; the spread of three-bath
// E-6's push times; where each figure of a report is from. 6: a developer that
// was mostly unread is judged by what is so whatever its bath did. 7: the words
// of reasons; a fault seen without a word of which rolls is taken for none of all
// or some of them. 8: a level that a person measured counts beside a sensor.
const JudgementVersion = 8

// ErrVersion says that a stored state is of another version.
var ErrVersion = errors.New("stored state has another version")

// Engine folds the telemetry of any number of units. It holds no clock and
// does no input or output of its own. It belongs to one goroutine.
type Engine struct {
	cfg    Config
	units  map[lab.UnitID]*watch
	order  []lab.UnitID // by name
	clock  time.Time    // the latest arrival time
	since  time.Time    // silence is judged from here
	paused bool
	due    time.Time // no silence before this
	set    clockSet  // when the monitor's own clock was last set

	aside    map[lab.UnitID]Aside // units that cannot be judged
	newAside []Aside              // of them those not told of yet
}

// NewEngine makes an engine that knows no unit yet. Zero fields of the
// configuration are the built-in sheets and rules.
func NewEngine(cfg Config) *Engine {
	if cfg.Book == nil {
		cfg.Book = process.Builtin()
	}
	if cfg.Data == nil {
		cfg.Data = Builtin()
	}
	cfg.with, cfg.at = map[judgedWith]*process.Step{}, map[judgedAt]*process.Step{}
	return &Engine{cfg: cfg, units: map[lab.UnitID]*watch{}}
}

// Units lists the units heard of, by name.
func (e *Engine) Units() []lab.UnitID { return slices.Clone(e.order) }

func (e *Engine) watch(u lab.UnitID) *watch {
	w := e.units[u]
	if w == nil {
		w = newWatch(e.cfg, u)
		e.put(w)
	}
	return w
}

func (e *Engine) put(w *watch) {
	if e.units[w.Unit] == nil {
		i, _ := slices.BinarySearchFunc(e.order, w.Unit, func(a, b lab.UnitID) int {
			return compareStrings(a.String(), b.String())
		})
		e.order = slices.Insert(e.order, i, w.Unit)
	}
	e.units[w.Unit] = w
}

// Monitoring starts the silence clock: the monitor is connected and caught up.
func (e *Engine) Monitoring(from time.Time) {
	if e.paused || e.since.IsZero() {
		e.since = from
	}
	e.paused, e.due = false, time.Time{}
}

// Paused stops the silence clock.
func (e *Engine) Paused(time.Time) { e.paused = true }

// Feed takes arrivals in the order of their numbers. What a unit has already
// taken (by arrival number) is passed over.
func (e *Engine) Feed(ctx context.Context, arrivals []lab.Arrival, h History) (Changes, error) {
	for _, a := range arrivals {
		if err := e.arrival(a); err != nil {
			return Changes{}, err
		}
	}
	return e.collect(ctx, h)
}

func (e *Engine) arrival(a lab.Arrival) error {
	unit, received := a.Of(), e.received(a.ReceivedAt())
	if received.After(e.clock) {
		e.clock = received
	}
	if unit.IsZero() {
		return nil
	}
	if e.isAside(unit) {
		return nil
	}
	return e.guard(unit, func() error {
		w := e.watch(unit)
		if n := a.Number(); n > 0 && n <= w.Arrival {
			return nil
		}
		e.silence(e.clock)
		e.takeIn(w, a, received)
		return nil
	})
}

// takeIn hands one arrival to its unit.
func (e *Engine) takeIn(w *watch, a lab.Arrival, received time.Time) {
	w.Arr.tick(w, e.clock)
	w.loseRun(e.clock)
	if a.Entry != nil {
		w.enter(a.Entry)
		return
	}
	if a.Refused != nil {
		w.Arr.refuse(w, a.Refused, received)
		return
	}
	m := *a.Message
	m.Received = received
	if !m.Will && !m.Retained {
		e.heardAgain(w, received)
		if e.another(w, &m, received) {
			w.stored(&m, received)
			return
		}
	}
	w.take(&m, received, e.since)
	if m.Will {
		e.due = time.Time{}
	}
}

// Tick lets arrival time pass to now: holes are given up, silence is judged.
func (e *Engine) Tick(ctx context.Context, now time.Time, h History) (Changes, error) {
	switch {
	case now.After(e.clock):
		e.clock = now
	case e.clock.Sub(now) > sec(setBackS):
		e.pullBack(now)
	}
	e.silence(e.clock)
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil {
			continue
		}
		_ = e.guard(u, func() error { // it reads nothing from the store
			w.Arr.tick(w, e.clock)
			if w.Order.waiting() {
				w.release(e.clock)
			}
			w.loseRun(e.clock)
			w.touched = w.outlookMoves(e.clock) || w.touched
			return nil
		})
	}
	return e.collect(ctx, h)
}

// collect folds again where late evidence came, and gives out what is new.
func (e *Engine) collect(ctx context.Context, h History) (Changes, error) {
	var ch Changes
	for _, u := range slices.Clone(e.order) {
		w := e.units[u]
		if w == nil || w.lateAt == nil && !w.touched {
			continue
		}
		if err := e.guard(u, func() error { return e.collectUnit(ctx, w, h, &ch) }); err != nil {
			return ch, err
		}
	}
	ch.Aside, e.newAside = e.newAside, nil
	return ch, nil
}

func (e *Engine) collectUnit(ctx context.Context, w *watch, h History, ch *Changes) error {
	if w.lateAt != nil {
		if err := w.refold(ctx, h); err != nil {
			return err
		}
	}
	if !w.touched {
		return nil
	}
	w.ahead()
	w.offlineClears()
	if w.Arr.inBacklog(w, e.clock) {
		// A backlog too long to be kept whole is folded as it comes in, and
		// given out when it is all there: what had ended meanwhile pages
		// nobody.
		ch.Touched = append(ch.Touched, w.Unit)
		return nil
	}
	w.touched = false
	occ, runs := w.changes(e.clock)
	ch.Occurrences = append(ch.Occurrences, occ...)
	ch.Runs = append(ch.Runs, runs...)
	ch.Touched = append(ch.Touched, w.Unit)
	return nil
}

// Snapshot gives the state of a unit to store, and the last arrival number
// that is in it. It gives none of a unit that is not known or was set aside,
// be it by this very call: a state that cannot be written is a fault of ours.
func (e *Engine) Snapshot(u lab.UnitID) (version int, blob []byte, arrival int64) {
	w := e.units[u]
	if w == nil {
		return StateVersion, nil, 0
	}
	_ = e.guard(u, func() (err error) { // it reads nothing from the store
		blob, err = json.Marshal(w)
		return err
	})
	if blob == nil {
		return StateVersion, nil, 0
	}
	return StateVersion, blob, w.Arrival
}

// Restore takes a stored state back.
func (e *Engine) Restore(u lab.UnitID, version int, blob []byte) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%s: stored state is not whole: %v", u, r)
		}
	}()
	if version != StateVersion {
		return fmt.Errorf("%s: version must be %d; got %d: %w", u, StateVersion, version, ErrVersion)
	}
	w := newWatch(e.cfg, u)
	w.Marks = nil
	w.State = newState()
	if err := json.Unmarshal(blob, w); err != nil {
		return fmt.Errorf("%s: stored state does not read: %w", u, err)
	}
	w.Unit = u
	w.wasNotGivenOut()
	e.put(w)
	if w.Arr.Last.After(e.clock) {
		e.clock = w.Arr.Last
	}
	e.due = time.Time{}
	return nil
}

func compareStrings(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
