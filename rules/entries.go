package rules

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
)

// Entry is what a person entered. It counts at a time of the unit's own timeline,
// whenever it arrived: what is found depends on the messages and on the set of
// entries alone, so that live watching, replay and folding again agree.
type Entry struct {
	lab.Entry
	T  time.Time `json:"t"`           // when it was so, by the unit's clock
	To time.Time `json:"to,omitzero"` // until when, of turning by hand; zero: to the end of the outage
}

// Entries are what people entered, by time.
type Entries []*Entry

// NewEntry is an entry as it counts; nil for one that changes nothing that is
// found. onUnit gives a moment of ours as the unit's clock showed it.
func NewEntry(e *lab.Entry, onUnit func(time.Time) time.Time) *Entry {
	if !e.Kind().Folded {
		return nil
	}
	k := &Entry{Entry: *e, T: onUnit(e.At)}
	k.Arrival = 0 // entries count as a set: when each arrived must make no difference
	if e.What != lab.EntryTurned {
		return k
	}
	var b lab.Turned
	if json.Unmarshal(e.Body, &b) != nil || b.From.IsZero() {
		return nil
	}
	k.T = onUnit(b.From.Time)
	if b.To != nil {
		k.To = onUnit(b.To.Time)
	}
	return k
}

// Find gives an entry by its id, nil where there is none.
func (list Entries) Find(id string) *Entry {
	i := slices.IndexFunc(list, func(k *Entry) bool { return k.ID == id })
	if i < 0 {
		return nil
	}
	return list[i]
}

// With is the list with one entry more.
func (list Entries) With(k *Entry) Entries {
	i, _ := slices.BinarySearchFunc(list, k, compareEntries)
	return slices.Insert(list, i, k)
}

// Without is the list without an entry.
func (list Entries) Without(k *Entry) Entries {
	return slices.DeleteFunc(list, func(x *Entry) bool { return x == k })
}

func compareEntries(a, b *Entry) int {
	return cmp.Or(a.T.Compare(b.T), cmp.Compare(a.ID, b.ID))
}

// now is what the unit's clock showed at the last message of its timeline.
func (s *state) now() time.Time { return s.Clock.report(s.Clock.T) }

// ForgetEntries drops the entries before a moment, to which nothing is folded
// again any more, and gives what is left. Figures in force stay, and what was
// entered of a run that can still be folded again.
func (u *Unit) ForgetEntries(before time.Time, again func(runID string) bool) Entries {
	last := map[string]*Entry{}
	for _, k := range u.entries {
		if k.Kind().Figure && k.T.Before(before) {
			last[k.Sets()] = k
		}
	}
	u.entries = slices.DeleteFunc(u.entries, func(k *Entry) bool {
		old := k.T.Before(before)
		switch {
		case k.Kind().Figure && (!old || last[k.Sets()] == k), k.OfWholeRun() && again(k.RunID), !k.OfWholeRun() && !old:
			return false
		}
		return true
	})
	for id := range u.s.Done {
		if u.entries.Find(id) == nil {
			delete(u.s.Done, id)
		}
	}
	return u.entries
}
