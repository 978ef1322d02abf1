package timeline

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"wetside/internal/lab"
	"wetside/rules"
)

// found is one occurrence, with where it was found and what was given out of it.
type found struct {
	Occurrence      lab.Occurrence `json:"occ"`
	At              place          `json:"at"`
	OnArrival       bool           `json:"arr,omitempty"` // of what arrivals tell: folding again does not find it
	Noticed         time.Time      `json:"noticed,omitzero"`
	FoundAfterwards bool           `json:"after,omitempty"`
	Sent            string         `json:"sent,omitempty"` // digest of what was last given out
	Was             string         `json:"was,omitempty"`
	Withdrawn       bool           `json:"gone,omitempty"` // later evidence says that it never was
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
	f.Occurrence, f.Withdrawn = o, false
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

// forget drops what was found before the oldest mark and is over: nothing can
// change it any more.
func (w *unit) forget() {
	oldest := w.Marks[0].At
	for id, f := range w.Found {
		over := !f.Occurrence.ClearedAt.IsZero() || f.Occurrence.Latched || f.Withdrawn
		if over && f.At.before(oldest) && !w.State.IsOpen(f.Occurrence.Key) && !w.dirty[id] {
			delete(w.Found, id)
		}
	}
	if len(w.Runs) > 4*marksKept {
		w.Runs = map[string]string{}
	}
	w.Order.forget(oldest)
}

// foundKept is the cap of occurrences that are kept of a unit. One that was given
// out and is dropped here gets the same id when it is found again.
const foundKept = 300

// forgetFound keeps Found within its cap: marks may be far apart.
func (w *unit) forgetFound() {
	if len(w.Found) <= foundKept {
		return
	}
	var over []*found
	for _, f := range w.Found {
		if (!f.Occurrence.ClearedAt.IsZero() || f.Occurrence.Latched || f.Withdrawn) && !w.State.IsOpen(f.Occurrence.Key) && w.Arrivals.Open[f.Occurrence.Key] == nil {
			over = append(over, f)
		}
	}
	slices.SortFunc(over, func(a, b *found) int {
		return cmp.Or(a.Occurrence.RaisedAt.Compare(b.Occurrence.RaisedAt), cmp.Compare(a.Occurrence.ID, b.Occurrence.ID))
	})
	for _, f := range over[:min(len(over), len(w.Found)-foundKept)] {
		delete(w.Found, f.Occurrence.ID)
	}
}

// wasNotGivenOut has that given out which a stored state holds and the program
// before did not give out any more.
func (w *unit) wasNotGivenOut() {
	for id, f := range w.Found {
		if f.Sent != changeDigest(f) {
			w.dirty[id], w.touched = true, true
		}
	}
	w.touched = w.touched || len(w.RunsDue) > 0
}

// changes is what is new since the last call.
func (w *unit) changes(now time.Time) ([]OccurrenceChange, []lab.Run) {
	var out []OccurrenceChange
	for _, id := range slices.Sorted(maps.Keys(w.dirty)) {
		f := w.Found[id]
		if f == nil {
			continue
		}
		if f.Noticed.IsZero() {
			f.Noticed = now
			f.FoundAfterwards = !f.Occurrence.ClearedAt.IsZero()
		}
		sum := changeDigest(f)
		if sum == f.Sent {
			continue
		}
		f.Sent = sum
		out = append(out, OccurrenceChange{Occurrence: f.Occurrence, Noticed: f.Noticed, FoundAfterwards: f.FoundAfterwards, Was: f.Was, Withdrawn: f.Withdrawn})
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
	}{f.Occurrence, f.Withdrawn, f.Was})
	if err != nil {
		panic(fmt.Sprintf("alert %s cannot be written: %v", f.Occurrence.Rule, err))
	}
	return rules.Digest(string(b))
}
