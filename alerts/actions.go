package alerts

import (
	"context"
	"fmt"
	"strings"
	"time"

	"wetside/internal/lab"
)

// The bounds of shelving, minutes: at most one shift of eight hours.
const (
	MinShelveMinutes = 1
	MaxShelveMinutes = 480
)

// maxText bounds a note or a reason, bytes.
const maxText = 2000

// Store is what Actions need: change runs with the alert locked, in the
// transaction that writes it and the history entries. An id that no alert has
// or had is a lab.KindNotFound error.
type Store interface {
	UpdateAlert(ctx context.Context, id string, change func(*lab.StoredAlert) ([]lab.AlertEvent, error)) (lab.StoredAlert, error)
}

// ActionsConfig is what Actions work with.
type ActionsConfig struct {
	Store Store
	Clock lab.Clock // Defaults to lab.SystemClock.
	// Changed is told of each alert that a person changed, after the commit.
	// It must not block. Defaults to nobody.
	Changed func(lab.Alert)
}

// Actions are what people do to alerts: acknowledge, shelve, unshelve. Safe for
// concurrent use.
type Actions struct{ cfg ActionsConfig }

// NewActions makes Actions.
func NewActions(cfg ActionsConfig) *Actions {
	if cfg.Clock == nil {
		cfg.Clock = lab.SystemClock{}
	}
	if cfg.Changed == nil {
		cfg.Changed = func(lab.Alert) {}
	}
	return &Actions{cfg}
}

// Acknowledge records that by has seen the alert. Done again it changes
// nothing: the alert that comes back says who was first. An alert that is
// closed is a lab.KindConflict, but for the one whose acknowledgement closed
// it: asking twice must not look like a failure.
func (x *Actions) Acknowledge(ctx context.Context, id, by, note string) (lab.Alert, error) {
	note = strings.TrimSpace(note)
	if err := checkText("note", note); err != nil {
		return lab.Alert{}, err
	}
	return x.change(ctx, id, by, func(a *lab.StoredAlert, now time.Time) ([]lab.AlertEvent, error) {
		switch {
		case a.State == lab.Closed && a.AcknowledgedAt != nil && a.AcknowledgedBy == by && !a.Withdrawn:
			return nil, nil
		case a.State == lab.Closed:
			return nil, closedError(a, "acknowledge")
		case a.AcknowledgedAt != nil:
			return nil, nil
		}
		return acknowledge(a, by, note, now), nil
	})
}

// acknowledge writes an acknowledgement into an open alert.
func acknowledge(a *lab.StoredAlert, by, note string, now time.Time) []lab.AlertEvent {
	a.AcknowledgedAt, a.AcknowledgedBy = lab.AtPtr(now), by
	events := []lab.AlertEvent{{AlertID: a.ID, Occurrence: a.Alert.Occurrence, At: now, What: lab.EventAcknowledged, By: by, Note: note}}
	a.Episodes = clone(*a).Episodes
	at := current(a.Episodes)
	if at < 0 {
		return events
	}
	ep := &a.Episodes[at]
	if ep.Priority.Rank() > ep.Told.Rank() {
		ep.Told = ep.Priority
	}
	a.State = stateOf(*ep, true)
	if a.State == lab.Closed {
		events = append(events, lab.AlertEvent{AlertID: a.ID, Occurrence: a.Alert.Occurrence, At: now, What: lab.EventClosed, By: by})
	}
	return events
}

// Shelve holds back an alert's pages for some minutes, for a reason. The
// alert itself goes on: it is shown, clears and returns. Shelving a shelved
// alert sets the time and the reason anew.
func (x *Actions) Shelve(ctx context.Context, id, by string, minutes int, reason string) (lab.Alert, error) {
	reason = strings.TrimSpace(reason)
	if minutes < MinShelveMinutes || minutes > MaxShelveMinutes {
		return lab.Alert{}, lab.Errorf(lab.KindInvalid, "minutes must be %[2]d to %[3]d (at most a shift of 8 hours); got %[1]d", minutes, MinShelveMinutes, MaxShelveMinutes)
	}
	if reason == "" {
		return lab.Alert{}, lab.Errorf(lab.KindInvalid, "reason is missing; say why the alert may wait")
	}
	if err := checkText("reason", reason); err != nil {
		return lab.Alert{}, err
	}
	return x.change(ctx, id, by, func(a *lab.StoredAlert, now time.Time) ([]lab.AlertEvent, error) {
		if a.State == lab.Closed {
			return nil, closedError(a, "shelve")
		}
		until := now.Add(time.Duration(minutes) * time.Minute)
		a.ShelvedUntil, a.ShelvedBy, a.ShelvedReason = lab.AtPtr(until), by, reason
		note := fmt.Sprintf("until %s: %s", mention(until), reason)
		return []lab.AlertEvent{{AlertID: a.ID, Occurrence: a.Alert.Occurrence, At: now, What: lab.EventShelved, By: by, Note: note}}, nil
	})
}

// Unshelve ends a shelving before its time. An alert that is not shelved
// stays as it is. The page that was held back goes out with the worker's next
// look at the alert.
func (x *Actions) Unshelve(ctx context.Context, id, by string) (lab.Alert, error) {
	return x.change(ctx, id, by, func(a *lab.StoredAlert, now time.Time) ([]lab.AlertEvent, error) {
		if a.State == lab.Closed {
			return nil, closedError(a, "unshelve")
		}
		if a.ShelvedUntil == nil {
			return nil, nil
		}
		a.ShelvedUntil, a.ShelvedBy, a.ShelvedReason = nil, "", ""
		return []lab.AlertEvent{{AlertID: a.ID, Occurrence: a.Alert.Occurrence, At: now, What: lab.EventUnshelved, By: by}}, nil
	})
}

// change runs one change of one alert and tells of it once it is stored.
func (x *Actions) change(ctx context.Context, id, by string, do func(*lab.StoredAlert, time.Time) ([]lab.AlertEvent, error)) (lab.Alert, error) {
	if by == "" {
		return lab.Alert{}, lab.Errorf(lab.KindInvalid, "nobody is named as the one who does this; sign in or use a token")
	}
	changed := false
	a, err := x.cfg.Store.UpdateAlert(ctx, id, func(a *lab.StoredAlert) ([]lab.AlertEvent, error) {
		events, err := do(a, lab.At(x.cfg.Clock.Now()).Time)
		changed = len(events) > 0
		return events, err
	})
	if err != nil {
		return lab.Alert{}, err
	}
	if changed {
		x.cfg.Changed(a.Alert)
	}
	return a.Alert, nil
}

// closedError says why a closed alert cannot be changed any more.
func closedError(a *lab.StoredAlert, do string) error {
	why := "it has cleared"
	switch {
	case a.Withdrawn:
		why = "withdrawn: later data shows that it did not happen"
	case a.AcknowledgedAt != nil:
		why = fmt.Sprintf("%s acknowledged it at %s", a.AcknowledgedBy, a.AcknowledgedAt)
	}
	return lab.Errorf(lab.KindConflict, "alert %s is closed: %s. There is nothing left to %s; if it returns, it will be a new alert", a.ID, why, do)
}

func checkText(what, s string) error {
	if len(s) > maxText {
		return lab.Errorf(lab.KindInvalid, "%[1]s must be at most %[3]d bytes long; got %[2]d", what, len(s), maxText)
	}
	return nil
}

// AcknowledgeOccurrence acknowledges one occurrence of an alert, for who was
// paged about that one: an old page must not answer what came later. An alert
// that went on to another occurrence, or is over, is a lab.KindConflict.
func (x *Actions) AcknowledgeOccurrence(ctx context.Context, id string, occurrence int, by, note string) (lab.Alert, error) {
	note = strings.TrimSpace(note)
	if err := checkText("note", note); err != nil {
		return lab.Alert{}, err
	}
	return x.change(ctx, id, by, func(a *lab.StoredAlert, now time.Time) ([]lab.AlertEvent, error) {
		if err := sameOccurrence(a, occurrence); err != nil {
			return nil, err
		}
		if a.AcknowledgedAt != nil && !a.Withdrawn && (a.State != lab.Closed || a.AcknowledgedBy == by) {
			return nil, nil // pressed twice, or somebody was first
		}
		if a.State == lab.Closed {
			return nil, closedError(a, "acknowledge")
		}
		return acknowledge(a, by, note, now), nil
	})
}

// ShelveOccurrence shelves an alert, for who was paged about one occurrence.
func (x *Actions) ShelveOccurrence(ctx context.Context, id string, occurrence int, by string, minutes int, reason string) (lab.Alert, error) {
	if a, err := x.change(ctx, id, by, func(a *lab.StoredAlert, _ time.Time) ([]lab.AlertEvent, error) {
		return nil, sameOccurrence(a, occurrence)
	}); err != nil {
		return a, err
	}
	// An occurrence that begins between the two is shelved too, as on the board.
	return x.Shelve(ctx, id, by, minutes, reason)
}

func sameOccurrence(a *lab.StoredAlert, occurrence int) error {
	if a.Alert.Occurrence == occurrence {
		return nil
	}
	return lab.Errorf(lab.KindConflict, "%s came again since this page was sent (it was number %d, now it is number %d): look at the board or at the newer page",
		alertName(a), occurrence, a.Alert.Occurrence)
}

func alertName(a *lab.StoredAlert) string {
	_, unit, _ := strings.Cut(a.Unit, "/")
	if unit == "" {
		return a.Rule
	}
	return fmt.Sprintf("%s on %s", a.Rule, unit)
}
