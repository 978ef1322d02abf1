package alerts

import (
	"context"
	"fmt"
	"strings"
	"time"

	"wetside/internal/lab"
)

// AcknowledgeOccurrence acknowledges one occurrence of an alert, for who was
// paged about that one: an old page must not answer what came later. An alert
// that went on to another occurrence, or is over, is a lab.KindConflict.
func (d *Desk) AcknowledgeOccurrence(ctx context.Context, id string, occurrence int, by, note string) (lab.Alert, error) {
	note = strings.TrimSpace(note)
	if err := checkText("note", note); err != nil {
		return lab.Alert{}, err
	}
	return d.change(ctx, id, by, func(a *lab.StoredAlert, now time.Time) ([]lab.AlertEvent, error) {
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
func (d *Desk) ShelveOccurrence(ctx context.Context, id string, occurrence int, by string, minutes int, reason string) (lab.Alert, error) {
	if a, err := d.change(ctx, id, by, func(a *lab.StoredAlert, _ time.Time) ([]lab.AlertEvent, error) {
		return nil, sameOccurrence(a, occurrence)
	}); err != nil {
		return a, err
	}
	// An occurrence that begins between the two is shelved too, as on the board.
	return d.Shelve(ctx, id, by, minutes, reason)
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
