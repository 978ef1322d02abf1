package live

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"wetside/internal/lab"
)

// openAlerts are the open alerts as last read, with their JSON to tell
// whether one changed.
type openAlerts map[string]knownAlert

type knownAlert struct {
	alert lab.Alert
	json  []byte
}

// learn takes one reading of an alert and tells whether it differs from the one
// before.
func (o openAlerts) learn(a lab.Alert) bool {
	b, err := json.Marshal(a)
	if err != nil {
		return false // facts that JSON cannot hold: the store could not have had them
	}
	known, ok := o[a.ID]
	if a.State == lab.Closed {
		delete(o, a.ID)
		return true
	}
	o[a.ID] = knownAlert{a, b}
	return !ok || !bytes.Equal(known.json, b)
}

// list gives them newest first.
func (o openAlerts) list() []lab.Alert {
	out := make([]lab.Alert, 0, len(o))
	for _, k := range o {
		out = append(out, k.alert)
	}
	slices.SortFunc(out, newestFirst)
	return out
}

// of gives the ids of a unit's open alerts, the most pressing first.
func (o openAlerts) of(unit string) []string {
	var mine []lab.Alert
	for _, k := range o {
		if k.alert.Unit == unit {
			mine = append(mine, k.alert)
		}
	}
	slices.SortFunc(mine, func(a, b lab.Alert) int {
		return cmp.Or(cmp.Compare(b.Priority.Rank(), a.Priority.Rank()), newestFirst(a, b))
	})
	ids := make([]string, len(mine))
	for i, a := range mine {
		ids[i] = a.ID
	}
	return ids
}

func newestFirst(a, b lab.Alert) int {
	return cmp.Or(b.RaisedAt.Compare(a.RaisedAt.Time), cmp.Compare(a.ID, b.ID))
}

// mostOpen bounds one reading of the open alerts.
const mostOpen = 10_000

// reload reads all open alerts and gives those that changed since.
func (h *Hub) reload(ctx context.Context) ([]lab.Alert, error) {
	yes := true
	all, err := h.store.Alerts(ctx, lab.AlertFilter{Open: &yes, Limit: mostOpen})
	if err != nil {
		return nil, err
	}
	var changed []lab.Alert
	seen := make(map[string]struct{}, len(all))
	gone := map[string]struct{}{}
	h.mu.Lock()
	for _, a := range all {
		seen[a.ID] = struct{}{}
		if h.open.learn(a) {
			changed = append(changed, a)
		}
	}
	for id := range h.open {
		if _, ok := seen[id]; !ok {
			gone[id] = struct{}{}
		}
	}
	h.mu.Unlock()
	return append(changed, h.readAlerts(ctx, gone)...), nil
}

// readAlerts reads the alerts named and gives those that changed. What cannot
// be read now is noted again for later.
func (h *Hub) readAlerts(ctx context.Context, ids map[string]struct{}) []lab.Alert {
	ctx, cancel := context.WithTimeout(ctx, storeWait)
	defer cancel()
	var changed []lab.Alert
	for id := range ids {
		a, err := h.store.Alert(ctx, id)
		if lab.KindOf(err) == lab.KindNotFound {
			h.forget(id)
			continue
		}
		if err != nil {
			h.again(id, err)
			continue
		}
		h.mu.Lock()
		news := h.open.learn(a)
		h.mu.Unlock()
		if news {
			changed = append(changed, a)
		}
	}
	slices.SortFunc(changed, newestFirst)
	return changed
}

func (h *Hub) forget(id string) {
	h.mu.Lock()
	delete(h.open, id)
	h.mu.Unlock()
}

// again notes an alert once more and comes back to it in a second.
func (h *Hub) again(id string, err error) {
	h.log.Warn("cannot read an alert for the live socket; trying again", "alert", id, "error", err)
	h.noteMu.Lock()
	h.notedAlerts[id] = struct{}{}
	h.noteMu.Unlock()
	time.AfterFunc(time.Second, h.nudge)
}

// OpenAlerts gives the ids of a unit's open alerts, the most pressing first;
// false before they were first read.
func (h *Hub) OpenAlerts(unit string) ([]string, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.loaded {
		return nil, false
	}
	return h.open.of(unit), true
}
