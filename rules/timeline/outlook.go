package timeline

import (
	"time"

	"wetside/internal/lab"
)

// quiet tells whether the unit is not heard though it should be.
func (w *unit) quiet() bool { return w.Arr.Silent != "" || !w.Arr.Will.IsZero() }

// outlookAt is the unit's outlook at arrival time now.
func (w *unit) outlookAt(now time.Time) *lab.Outlook {
	at := w.State.Now().At
	if !w.Arr.Last.IsZero() && now.After(w.Arr.Last) {
		at = at.Add(now.Sub(w.Arr.Last))
	}
	return w.State.Outlook(w.quiet(), at)
}

// outlookMoves tells whether what to do has changed since it was last asked:
// time alone does that, with nothing heard.
func (w *unit) outlookMoves(now time.Time) bool {
	is := ""
	if w.quiet() || w.State.Now().OnBattery {
		if v := w.outlookAt(now); v != nil {
			is = v.Action + v.Text
		}
	}
	moved := is != w.lookedAt
	w.lookedAt = is
	return moved
}
