package watch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"wetside/internal/lab"
	"wetside/internal/labtest"
	"wetside/rules/timeline"
)

// fakeEngine is a fold small enough to see through: a unit is too warm while
// its bath is above 40 °C. Its state lists every message it took, so that a
// message taken twice or not at all shows.
type fakeEngine struct {
	units     map[lab.UnitID]*fakeState
	monitored []bool
	ticked    func()
}

const fakeVersion = 2

type fakeState struct {
	Arrival int64
	Seqs    []int64
	Warm    *lab.Occurrence
}

func newFakeEngine() *fakeEngine { return &fakeEngine{units: map[lab.UnitID]*fakeState{}} }

func (e *fakeEngine) Restore(unit lab.UnitID, version int, blob []byte) error {
	if version != fakeVersion {
		return fmt.Errorf("version %d: %w", version, timeline.ErrVersion)
	}
	s := &fakeState{}
	e.units[unit] = s
	return json.Unmarshal(blob, s)
}

func (e *fakeEngine) ClockSet(time.Time, time.Duration) {}

func (e *fakeEngine) SetAside() []timeline.Aside { return nil }

func (e *fakeEngine) PutAside(timeline.Aside) {}

func (e *fakeEngine) Snapshot(unit lab.UnitID) (int, []byte, int64) {
	s := e.units[unit]
	b, err := json.Marshal(s)
	if err != nil {
		panic(err)
	}
	return fakeVersion, b, s.Arrival
}

func (e *fakeEngine) Feed(_ context.Context, arrivals []lab.Arrival, _ timeline.History) (timeline.Changes, error) {
	var out timeline.Changes
	for _, a := range arrivals {
		m := a.Message
		s := e.units[m.Unit]
		if s == nil {
			s = &fakeState{}
			e.units[m.Unit] = s
		}
		s.Arrival = m.Arrival
		s.Seqs = append(s.Seqs, m.Seq)
		warm := *m.Temp.BathC > 40
		switch {
		case warm && s.Warm == nil:
			key := "warm|" + m.Unit.String()
			s.Warm = &lab.Occurrence{Key: key, ID: fmt.Sprintf("%s@%d", key, m.Seq), Rule: "warm", Unit: m.Unit, Priority: lab.Urgent,
				RaisedAt: m.At.Add(time.Duration(m.Seq) * time.Minute)} // none so close that they would be chattering
			out.Occurrences = append(out.Occurrences, timeline.OccurrenceChange{Occurrence: *s.Warm, Noticed: m.Received})
		case !warm && s.Warm != nil:
			s.Warm.ClearedAt = m.At
			out.Occurrences = append(out.Occurrences, timeline.OccurrenceChange{Occurrence: *s.Warm, Noticed: m.Received})
			s.Warm = nil
		}
		out.Touched = append(out.Touched, m.Unit)
	}
	return out, nil
}

func (e *fakeEngine) Tick(context.Context, time.Time, timeline.History) (timeline.Changes, error) {
	if e.ticked != nil {
		e.ticked()
	}
	return timeline.Changes{}, nil
}
func (e *fakeEngine) Monitoring(time.Time) { e.monitored = append(e.monitored, true) }
func (e *fakeEngine) Paused(time.Time)     { e.monitored = append(e.monitored, false) }

func (e *fakeEngine) View(unit lab.UnitID, _ time.Time) (lab.Unit, bool) {
	s, ok := e.units[unit]
	if !ok {
		return lab.Unit{}, false
	}
	return lab.Unit{ID: unit.String(), Model: fmt.Sprint(len(s.Seqs))}, true
}

func (e *fakeEngine) Units() []lab.UnitID {
	var out []lab.UnitID
	for u := range e.units {
		out = append(out, u)
	}
	return out
}
func (e *fakeEngine) Jobs(lab.UnitID, time.Time) []lab.Job { return nil }

// fakeStore keeps in memory what the database keeps. fail decides what a
// commit does: "" works, "refuse" writes nothing, "lose" writes and loses the
// reply, "stale" says that the term has ended.
type fakeStore struct {
	labtest.AlertTable
	clock     lab.Clock
	committed *labtest.Signal[lab.Commit]

	mu          sync.Mutex
	arrivals    []lab.Arrival
	states      map[lab.UnitID]lab.UnitState
	labSettings lab.LabSettings
	inUse       lab.RulesInUse
	settings    map[string]lab.UnitSetting
	fail        func() string
	refused     lab.UnitID // what is found of it is refused; zero: nothing
	atMost      int        // arrivals that one reading gives; 0: as many as are asked for
}

func newFakeStore(clock lab.Clock) *fakeStore {
	return &fakeStore{
		clock: clock, committed: labtest.NewSignal[lab.Commit](1000), states: map[lab.UnitID]lab.UnitState{},
		settings: map[string]lab.UnitSetting{}, fail: func() string { return "" },
	}
}

// heard stores one reading of a unit's bath.
func (s *fakeStore) heard(unit lab.UnitID, c float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := int64(len(s.arrivals) + 1)
	seq := int64(1)
	for _, a := range s.arrivals {
		if a.Message.Unit == unit {
			seq++
		}
	}
	at := s.clock.Now().Add(time.Duration(n) * time.Second)
	s.arrivals = append(s.arrivals, lab.Arrival{Message: &lab.Message{
		Unit: unit, Channel: lab.ChannelTemp, Boot: "b", Seq: seq, At: at, Received: at, Arrival: n, Temp: &lab.Temp{BathC: &c},
	}})
}

func (s *fakeStore) ArrivalsAfter(_ context.Context, after int64, limit int) ([]lab.Arrival, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if after >= int64(len(s.arrivals)) {
		return nil, nil
	}
	rest := s.arrivals[after:]
	if s.atMost > 0 {
		limit = min(limit, s.atMost)
	}
	return slices.Clone(rest[:min(limit, len(rest))]), nil
}

func (s *fakeStore) UnitMessages(context.Context, lab.UnitID, int64) ([]lab.Message, error) {
	return nil, errors.New("not asked for in this test")
}

func (s *fakeStore) UnitStates(context.Context) ([]lab.UnitState, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []lab.UnitState
	for _, st := range s.states {
		out = append(out, st)
	}
	return out, nil
}

func (s *fakeStore) LabSettings(context.Context) (lab.LabSettings, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.labSettings, nil
}

func (s *fakeStore) RulesInUse(_ context.Context, labs, rules []string) (lab.RulesInUse, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.inUse == nil {
		s.inUse = lab.RulesInUse{}
	}
	s.inUse.Begin(labs, rules, lab.At(s.clock.Now()))
	out := lab.RulesInUse{}
	for l, list := range s.inUse {
		out[l] = maps.Clone(list)
	}
	return out, nil
}

func (s *fakeStore) UnitSettings(context.Context) (map[string]lab.UnitSetting, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.settings, nil
}

func (s *fakeStore) Commit(_ context.Context, _ int64, c lab.Commit) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	how := s.fail()
	switch how {
	case "refuse":
		return errors.New("the database is away")
	case "stale":
		return lab.Errorf(lab.KindConflict, "taken over: %w", lab.ErrStaleTerm)
	}
	if s.unstorable(c) {
		return fmt.Errorf("class 22: %w", lab.ErrUnstorable)
	}
	if err := s.AlertTable.Commit(c.AlertKeys, c.AlertIDs, s.clock.Now(), c.Apply); err != nil {
		return err
	}
	for _, st := range c.States {
		s.states[st.Unit] = st
	}
	for _, a := range c.Aside {
		st, ok := s.states[a.Unit]
		if !ok {
			st = lab.UnitState{Unit: a.Unit, Arrival: a.From}
		}
		mark := a.AsideMark
		st.Aside = &mark
		s.states[a.Unit] = st
	}
	if how == "lose" {
		return errors.New("the connection broke after COMMIT was sent")
	}
	s.committed.Emit(c)
	return nil
}

// unstorable tells whether a commit holds something of the unit that the
// store refuses, but for its mark.
func (s *fakeStore) unstorable(c lab.Commit) bool {
	if s.refused.IsZero() {
		return false
	}
	of := func(st lab.UnitState) bool { return st.Unit == s.refused }
	return slices.ContainsFunc(c.States, of) || slices.ContainsFunc(c.AlertKeys, func(k string) bool { return strings.Contains(k, s.refused.String()) })
}

// seqs is what the stored state of a unit says it took.
func (s *fakeStore) seqs(unit lab.UnitID) []int64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	var st fakeState
	if b := s.states[unit].Blob; b != nil {
		if err := json.Unmarshal(b, &st); err != nil {
			panic(err)
		}
	}
	return st.Seqs
}
