package labtest

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"wetside/internal/lab"
)

// AlertTable is a table of alerts in memory with what the database promises:
// look-up by key and by every id an alert had, one open alert for a key, one
// page for an alert's occurrence and step, an append-only history. What is
// stored goes through JSON, as it would.
type AlertTable struct {
	mu     sync.Mutex
	rows   []lab.StoredAlert // in the order they were made
	events []lab.AlertEvent
	pages  []lab.Page
	seq    int64
}

// Commit runs an Apply as lab.Commit says. An error means that nothing was
// written.
func (s *AlertTable) Commit(keys, ids []string, now time.Time, apply func([]lab.StoredAlert, time.Time) ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	out, events, pages := apply(s.load(keys, ids), now)
	rows, seq := slices.Clone(s.rows), s.seq
	for _, a := range out {
		seq++
		a.UpdatedSeq = seq
		if i := rowOf(rows, a); i >= 0 {
			rows[i] = through(a)
		} else {
			rows = append(rows, through(a))
		}
		if err := oneOpen(rows, a.Key); err != nil {
			return err
		}
	}
	all := slices.Clone(s.pages)
	for _, p := range pages {
		for _, old := range all {
			if old.AlertID == p.AlertID && old.Occurrence == p.Occurrence && old.Step == p.Step {
				return fmt.Errorf("page for alert %s occurrence %d step %d made twice", p.AlertID, p.Occurrence, p.Step)
			}
		}
		all = append(all, p)
	}
	s.rows, s.seq, s.pages = rows, seq, all
	s.events = append(s.events, events...)
	return nil
}

// load gives the alerts for keys and ids as a store must.
func (s *AlertTable) load(keys, ids []string) []lab.StoredAlert {
	want := map[int]bool{}
	for _, k := range keys {
		at := -1
		for i, a := range s.rows {
			if a.Key == k && (at < 0 || s.rows[at].State == lab.Closed) {
				at = i
			}
		}
		if at >= 0 {
			want[at] = true
		}
	}
	for i, a := range s.rows {
		if slices.ContainsFunc(ids, func(id string) bool { return Named(a, id) }) {
			want[i] = true
		}
	}
	var out []lab.StoredAlert
	for i, a := range s.rows {
		if want[i] {
			out = append(out, through(a))
		}
	}
	return out
}

// Named tells whether id is or was an id of the alert or of an occurrence.
func Named(a lab.StoredAlert, id string) bool {
	return id != "" && (a.ID == id || a.LastOccID == id || slices.Contains(a.FormerIDs, id))
}

// rowOf finds the row that a is a new version of.
func rowOf(rows []lab.StoredAlert, a lab.StoredAlert) int {
	if i := slices.IndexFunc(rows, func(r lab.StoredAlert) bool { return r.ID == a.ID }); i >= 0 {
		return i
	}
	return slices.IndexFunc(rows, func(r lab.StoredAlert) bool { return slices.Contains(a.FormerIDs, r.ID) })
}

func oneOpen(rows []lab.StoredAlert, key string) error {
	n := 0
	for _, r := range rows {
		if r.Key == key && r.State != lab.Closed {
			n++
		}
	}
	if n > 1 {
		return fmt.Errorf("%d open alerts for %s; want one at most", n, key)
	}
	return nil
}

// through sends a through JSON.
func through(a lab.StoredAlert) lab.StoredAlert {
	b, err := json.Marshal(a)
	if err != nil {
		panic(err)
	}
	var out lab.StoredAlert
	if err := json.Unmarshal(b, &out); err != nil {
		panic(err)
	}
	return out
}

// UpdateAlert changes one alert as Actions of package alerts want it.
func (s *AlertTable) UpdateAlert(ctx context.Context, id string, change func(*lab.StoredAlert) ([]lab.AlertEvent, error)) (lab.StoredAlert, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.index(id)
	if i < 0 {
		return lab.StoredAlert{}, lab.Errorf(lab.KindNotFound, "there is no alert %q", id)
	}
	a := through(s.rows[i])
	events, err := change(&a)
	if err != nil {
		return lab.StoredAlert{}, err
	}
	s.seq++
	a.UpdatedSeq = s.seq
	s.rows[i] = through(a)
	s.events = append(s.events, events...)
	return through(a), nil
}

// index finds an alert by any id; by its own before a former one.
func (s *AlertTable) index(id string) int {
	if i := slices.IndexFunc(s.rows, func(a lab.StoredAlert) bool { return a.ID == id }); i >= 0 {
		return i
	}
	return slices.IndexFunc(s.rows, func(a lab.StoredAlert) bool { return Named(a, id) })
}

// Alert gives one alert.
func (s *AlertTable) Alert(_ context.Context, id string) (lab.Alert, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.index(id)
	if i < 0 {
		return lab.Alert{}, lab.Errorf(lab.KindNotFound, "there is no alert %q", id)
	}
	return through(s.rows[i]).Alert, nil
}

// Alerts lists alerts, the newest made first.
func (s *AlertTable) Alerts(_ context.Context, f lab.AlertFilter) ([]lab.Alert, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []lab.Alert
	for _, a := range slices.Backward(s.rows) {
		open := a.State != lab.Closed
		if f.Open != nil && *f.Open != open || f.Unit != "" && f.Unit != a.Unit || f.Rule != "" && f.Rule != a.Rule {
			continue
		}
		out = append(out, through(a).Alert)
		if f.Limit > 0 && len(out) == f.Limit {
			break
		}
	}
	return out, nil
}

// Stored lists everything there is: alerts in the order they were made,
// history and pages in the order they were written.
func (s *AlertTable) Stored() ([]lab.StoredAlert, []lab.AlertEvent, []lab.Page) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.rows), slices.Clone(s.events), slices.Clone(s.pages)
}
