package timeline

import (
	"time"

	"wetside/internal/lab"
)

// noDataReceived tells whether the unit is silent, or its connection broke.
func (w *unit) noDataReceived() bool { return w.Arrivals.Silent != "" || !w.Arrivals.Will.IsZero() }

// outlookAt is the unit's outlook at arrival time now.
func (w *unit) outlookAt(now time.Time) *lab.Outlook {
	at := w.State.Now().At
	if !w.Arrivals.Last.IsZero() && now.After(w.Arrivals.Last) {
		at = at.Add(now.Sub(w.Arrivals.Last))
	}
	return w.State.Outlook(w.noDataReceived(), at)
}

// outlookMoves tells whether what to do has changed since it was last asked. While
// a unit is silent or on battery, time alone changes it.
func (w *unit) outlookMoves(now time.Time) bool {
	is := ""
	if w.noDataReceived() || w.State.Now().OnBattery {
		if v := w.outlookAt(now); v != nil {
			is = v.Action + v.Text
		}
	}
	moved := is != w.lookedAt
	w.lookedAt = is
	return moved
}
