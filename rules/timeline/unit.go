package timeline

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// unit is one unit: its order, its fold, and what was found. Its JSON is the
// stored snapshot.
type unit struct {
	Unit    lab.UnitID        `json:"unit"`
	Order   order             `json:"order"`
	State   *rules.Unit       `json:"state"`
	Marks   []mark            `json:"marks"`
	Since   int               `json:"since"` // messages folded since the last mark
	Found   map[string]*found `json:"found"`
	Runs    map[string]string `json:"runs,omitempty"` // digests of run records already given out
	Arr     arrivals          `json:"arr"`
	Arrival int64             `json:"arrival"`            // the last arrival number taken
	Lost    json.RawMessage   `json:"lost,omitempty"`     // the state as the timeline alone made it, before what only arrival time or people tell
	TrueT   time.Time         `json:"true_t,omitzero"`    // the unit's clock in it
	Entries rules.Entries     `json:"entries,omitempty"`  // what people entered, by time
	Back    []string          `json:"back,omitempty"`     // entries taken back
	RunsDue []lab.Run         `json:"runs_due,omitempty"` // records to give out, the latest of each run

	cfg     rules.Config
	placing place // of the message being folded
	lateAt  *place
	dirty   map[string]bool
	touched bool

	lookedAt string // what the outlook said last
}

// mark is a place in the timeline from which the unit can be folded again.
type mark struct {
	At    place           `json:"at"`
	T     time.Time       `json:"t,omitzero"`    // the unit's clock there
	Run   string          `json:"run,omitempty"` // the run that begins there
	Floor int64           `json:"floor"`         // no later message has a lower arrival number
	State json.RawMessage `json:"state"`
}

const (
	marksKept  = 6
	marksEvery = 4000 // messages, while no run goes on
)

// found is one occurrence with what the watch needs to know of it.
type found struct {
	Occ     lab.Occurrence `json:"occ"`
	At      place          `json:"at"`
	Arr     bool           `json:"arr,omitempty"` // judged on arrival, not by the fold
	Noticed time.Time      `json:"noticed,omitzero"`
	After   bool           `json:"after,omitempty"`
	Sent    string         `json:"sent,omitempty"` // digest of what was last given out
	Was     string         `json:"was,omitempty"`
	Gone    bool           `json:"gone,omitempty"` // withdrawn
}

func newUnit(cfg rules.Config, u lab.UnitID) *unit {
	w := &unit{Unit: u, Found: map[string]*found{}, Runs: map[string]string{}, cfg: cfg, dirty: map[string]bool{}}
	w.State = rules.NewUnit(cfg, u, w)
	w.setMark(0)
	return w
}

// PutOccurrence implements rules.Findings.
func (w *unit) PutOccurrence(o lab.Occurrence) {
	if o.Quiet {
		return
	}
	f := w.Found[o.ID]
	if f == nil {
		f = &found{At: w.placing}
		w.Found[o.ID] = f
	}
	f.Occ, f.Gone = o, false
	w.dirty[o.ID] = true
}

// PutRun implements rules.Findings.
func (w *unit) PutRun(r lab.Run) {
	i := slices.IndexFunc(w.RunsDue, func(x lab.Run) bool { return x.ID == r.ID })
	if i < 0 {
		w.RunsDue = append(w.RunsDue, r)
		return
	}
	w.RunsDue[i] = r
}

// stateNow is the state as it is stored.
func (w *unit) stateNow() json.RawMessage {
	blob, err := w.State.MarshalJSON()
	if err != nil {
		panic("rules: state does not marshal: " + err.Error())
	}
	return blob
}

// setMark keeps a place to fold again from; floor is the lowest arrival
// number of what comes after it.
func (w *unit) setMark(floor int64) {
	w.Marks = append(w.Marks, mark{At: w.Order.frontier(), T: w.State.Now().At, Floor: floor, State: w.stateNow()})
	if len(w.Marks) > marksKept {
		w.Marks = slices.Clone(w.Marks[1:])
		w.forget()
		w.forgetEntries()
	}
	w.Since = 0
}

// markAnew gives up folding from earlier marks: a unit that starts again and
// again has more boots than are kept.
func (w *unit) markAnew(floor int64, at place) {
	w.Marks = nil
	w.setMark(floor)
	w.Marks[0].At = at
	w.Order.forget(at)
	w.forget()
	w.forgetEntries()
}

// forget drops what can no longer change.
func (w *unit) forget() {
	oldest := w.Marks[0].At
	for id, f := range w.Found {
		over := !f.Occ.ClearedAt.IsZero() || f.Occ.Latched || f.Gone
		if over && f.At.before(oldest) && !w.State.IsOpen(f.Occ.Key) && !w.dirty[id] {
			delete(w.Found, id)
		}
	}
	if len(w.Runs) > 4*marksKept {
		w.Runs = map[string]string{}
	}
	w.Order.forget(oldest)
}

// take hands in one good message, at arrival time now.
func (w *unit) take(m *lab.Message, now, since time.Time) {
	w.touched = true
	w.Arrival = max(w.Arrival, m.Arrival)
	if w.likelyRetained(m) {
		m.Retained = true
	}
	w.Arr.heard(w, m, now, since)
	if m.Will {
		return
	}
	if m.Retained && m.Status != nil {
		w.State.Declare(m.Status)
	}
	what, at := w.Order.add(m)
	if what == takenLate {
		w.late(at)
	}
	w.release(now)
}

// likelyRetained tells a broker's retained status, in a capture that does not
// mark it, from a live one: the first thing heard of a unit, and old.
func (w *unit) likelyRetained(m *lab.Message) bool {
	return m.Status != nil && len(w.Order.Boots) == 0 && !m.AtReplaced && m.Received.Sub(m.At) > 30*time.Second
}

// release folds what is ready at arrival time now.
func (w *unit) release(now time.Time) {
	if w.Arr.inBacklog(w, now) && w.Order.waitingN() < pendingMost {
		return
	}
	for {
		m, miss, bootIndex := w.Order.next(&w.cfg.Data.Figures, now)
		if m == nil {
			return
		}
		w.placing = w.Order.place(bootIndex, m.Seq)
		w.foldOne(m, miss, w.Order.pendingFloor(m.Arrival))
		w.touched = true
	}
}

// foldOne folds the next message of the timeline; floor is for a mark.
func (w *unit) foldOne(m *lab.Message, miss missing, floor int64) {
	w.unlose()
	now := w.State.Now()
	begins := m.Step != nil && m.Step.Run != "" && m.Step.Run != now.Run
	if w.Order.crowded() {
		at := w.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		w.markAnew(floor, at)
	} else if !now.Running && w.Since > 0 && (begins || w.Since >= marksEvery) {
		// the place before m, with the hole before m still to come
		at := w.placing
		if miss.from > 0 {
			at.Seq = miss.from
		}
		w.setMark(floor)
		last := &w.Marks[len(w.Marks)-1]
		last.At = at
		if begins {
			last.Run = rules.RunID(w.Unit, m.Step.Run)
		}
	}
	w.State.Take(m, miss.gaps, miss.unspoken)
	w.Since++
}

// foundKept is how many occurrences of a unit are kept in all. One that is over
// and was given out is found again under the same id where it is folded again.
const foundKept = 300

// forgetFound keeps Found within its cap, between marks that are far apart.
func (w *unit) forgetFound() {
	if len(w.Found) <= foundKept {
		return
	}
	var over []*found
	for _, f := range w.Found {
		if (!f.Occ.ClearedAt.IsZero() || f.Occ.Latched || f.Gone) && !w.State.IsOpen(f.Occ.Key) && w.Arr.Open[f.Occ.Key] == nil {
			over = append(over, f)
		}
	}
	slices.SortFunc(over, func(a, b *found) int {
		return cmp.Or(a.Occ.RaisedAt.Compare(b.Occ.RaisedAt), cmp.Compare(a.Occ.ID, b.Occ.ID))
	})
	for _, f := range over[:min(len(over), len(w.Found)-foundKept)] {
		delete(w.Found, f.Occ.ID)
	}
}

// wasNotGivenOut marks what a stored state holds that nobody was told of.
func (w *unit) wasNotGivenOut() {
	for id, f := range w.Found {
		if f.Sent != changeDigest(f) {
			w.dirty[id], w.touched = true, true
		}
	}
	w.touched = w.touched || len(w.RunsDue) > 0
}

// changes gives out what is new since the last call.
func (w *unit) changes(now time.Time) ([]OccurrenceChange, []lab.Run) {
	var out []OccurrenceChange
	for _, id := range slices.Sorted(maps.Keys(w.dirty)) {
		f := w.Found[id]
		if f == nil {
			continue
		}
		if f.Noticed.IsZero() {
			f.Noticed = now
			f.After = !f.Occ.ClearedAt.IsZero()
		}
		sum := changeDigest(f)
		if sum == f.Sent {
			continue
		}
		f.Sent = sum
		out = append(out, OccurrenceChange{Occurrence: f.Occ, Noticed: f.Noticed, FoundAfterwards: f.After, Was: f.Was, Withdrawn: f.Gone})
	}
	w.dirty = map[string]bool{}
	w.forgetFound()
	var runs []lab.Run
	for _, r := range w.RunsDue {
		b, err := json.Marshal(r)
		if err != nil {
			panic(fmt.Sprintf("the record of run %s cannot be written: %v", r.Run, err))
		}
		if sum := rules.Digest(string(b)); w.Runs[r.ID] != sum {
			w.Runs[r.ID] = sum
			runs = append(runs, r)
		}
	}
	w.RunsDue = nil
	return out, runs
}

func changeDigest(f *found) string {
	b, err := json.Marshal(struct {
		O lab.Occurrence
		G bool
		W string
	}{f.Occ, f.Gone, f.Was})
	if err != nil {
		panic(fmt.Sprintf("alert %s cannot be written: %v", f.Occ.Rule, err))
	}
	return rules.Digest(string(b))
}

// offsetS is the unit's clock offset, false while unknown.
func (w *unit) offsetS() (float64, bool) {
	v := w.Arr.offset()
	return v, !math.IsInf(v, 1)
}
