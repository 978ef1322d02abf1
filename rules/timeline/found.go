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
func (u *unit) PutOccurrence(o lab.Occurrence) {
	if o.Quiet {
		return
	}
	f := u.Found[o.ID]
	if f == nil {
		f = &found{At: u.placing}
		u.Found[o.ID] = f
	}
	f.Occurrence, f.Withdrawn = o, false
	u.dirty[o.ID] = true
}

// PutRun implements rules.Findings.
func (u *unit) PutRun(r lab.Run) {
	i := slices.IndexFunc(u.RunsDue, func(x lab.Run) bool { return x.ID == r.ID })
	if i < 0 {
		u.RunsDue = append(u.RunsDue, r)
		return
	}
	u.RunsDue[i] = r
}

// forget drops what was found before the oldest mark and is over: nothing can
// change it any more.
func (u *unit) forget() {
	oldest := u.Marks[0].At
	for id, f := range u.Found {
		over := !f.Occurrence.ClearedAt.IsZero() || f.Occurrence.Latched || f.Withdrawn
		if over && f.At.before(oldest) && !u.State.IsOpen(f.Occurrence.Key) && !u.dirty[id] {
			delete(u.Found, id)
		}
	}
	if len(u.Runs) > 4*marksKept {
		u.Runs = map[string]string{}
	}
	u.Order.forget(oldest)
}

// foundKept is the cap of occurrences that are kept of a unit. One that was given
// out and is dropped here gets the same id when it is found again.
const foundKept = 300

// forgetFound keeps Found within its cap: marks may be far apart.
func (u *unit) forgetFound() {
	if len(u.Found) <= foundKept {
		return
	}
	var over []*found
	for _, f := range u.Found {
		if (!f.Occurrence.ClearedAt.IsZero() || f.Occurrence.Latched || f.Withdrawn) && !u.State.IsOpen(f.Occurrence.Key) && u.Arrivals.Open[f.Occurrence.Key] == nil {
			over = append(over, f)
		}
	}
	slices.SortFunc(over, func(a, b *found) int {
		return cmp.Or(a.Occurrence.RaisedAt.Compare(b.Occurrence.RaisedAt), cmp.Compare(a.Occurrence.ID, b.Occurrence.ID))
	})
	for _, f := range over[:min(len(over), len(u.Found)-foundKept)] {
		delete(u.Found, f.Occurrence.ID)
	}
}

// wasNotGivenOut has that given out which a stored state holds and the program
// before did not give out any more.
func (u *unit) wasNotGivenOut() {
	for id, f := range u.Found {
		if f.Sent != changeDigest(f) {
			u.dirty[id], u.touched = true, true
		}
	}
	u.touched = u.touched || len(u.RunsDue) > 0
}

// changes is what is new since the last call.
func (u *unit) changes(now time.Time) ([]OccurrenceChange, []lab.Run) {
	var out []OccurrenceChange
	for _, id := range slices.Sorted(maps.Keys(u.dirty)) {
		f := u.Found[id]
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
	u.dirty = map[string]bool{}
	u.forgetFound()
	var runs []lab.Run
	for _, r := range u.RunsDue {
		b, err := json.Marshal(r)
		if err != nil {
			panic(fmt.Sprintf("the record of run %s cannot be written: %v", r.Run, err))
		}
		if sum := rules.Digest(string(b)); u.Runs[r.ID] != sum {
			u.Runs[r.ID] = sum
			runs = append(runs, r)
		}
	}
	u.RunsDue = nil
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
